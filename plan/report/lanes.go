package report

import (
	"fmt"
	"slices"

	"foldout/plan/sheet"
)

// Firmness in words: from this confidence on. Chosen so that the words match what people do with them.
const (
	firmFrom   = 0.9
	likelyFrom = 0.75
	openFrom   = 0.5
	pips       = 5 // of the gauge
)

// laneView is one pair and the tracks on it.
type laneView struct {
	Number    int
	Hue       int // 1..7
	Hatch     int // 0..6
	Name      string
	Outputs   [2]int
	Interface string // "" where there is one only
	Inputs    string // of the summing unit, "" if they are not known
	Reason    string
	Free      bool
	Ridge     string   // of the pair
	Lines     []string // of its tracks, at their true level below the pair
	Where     string   // registers in which it is strong, in words
	Buses     []busView
	Tracks    int
	Loose     int // tracks that could sit elsewhere
	Load      *loadView
}

// busView is a run of slips on one bus.
type busView struct {
	Name  string
	Slips []slipView
}

// slipView is one track as a strip of paper.
type slipView struct {
	ID         string
	Hue, Hatch int
	Name, Bus  string
	Role       string
	Ridge      string
	Shape      string // the ridge in words
	Why        string
	More       []string
	Firm       string
	Percent    string
	Pips       [pips]bool
	Loose      bool
	Next       *badge
}

// badge stands for a pair wherever one is named.
type badge struct {
	Number, Hue, Hatch int
	Name               string
}

func badgeOf(number int, name string) badge {
	return badge{Number: number, Hue: hue(number), Hatch: hatch(number), Name: plain(name)}
}

func hue(number int) int { return (number-1)%hues + 1 }

// hatch shifts by one at each turn of the colours, so that forty-nine pairs differ.
func hatch(number int) int { return (number - 1 + (number-1)/hues) % hues }

const hues = 7

func lanes(s *sheet.Sheet) []laneView {
	var out []laneView
	several := slices.ContainsFunc(s.Pairs, func(p sheet.Pair) bool { return p.Device != s.Pairs[0].Device })
	for n, p := range s.Pairs {
		number := n + 1
		l := laneView{Number: number, Hue: hue(number), Hatch: hatch(number), Name: plain(p.Name), Outputs: p.Outputs, Reason: typeset(plain(p.Reason)),
			Free: len(p.Tracks) == 0, Tracks: len(p.Tracks)}
		if several {
			l.Interface = plain(p.Device)
		}
		var sum bands
		for i := range p.Tracks {
			sum.add(powerOf(&p.Tracks[i].Measured))
		}
		top := sum.top()
		l.Ridge = ridge(sum.heights(top))
		l.Where = where(sum)
		for i := range p.Tracks {
			t := &p.Tracks[i]
			power := powerOf(&t.Measured)
			if len(p.Tracks) > 1 && power.top() > 0 {
				l.Lines = append(l.Lines, line(power.heights(top)))
			}
			slip := slipOf(t, number, i, s)
			if slip.Loose {
				l.Loose++
			}
			if k := len(l.Buses); k == 0 || l.Buses[k-1].Name != slip.Bus {
				l.Buses = append(l.Buses, busView{Name: slip.Bus})
			}
			bus := &l.Buses[len(l.Buses)-1]
			bus.Slips = append(bus.Slips, slip)
		}
		out = append(out, l)
	}
	return out
}

func slipOf(t *sheet.Placement, number, place int, s *sheet.Sheet) slipView {
	power := powerOf(&t.Measured)
	v := slipView{
		ID: fmt.Sprintf("track-%d-%d", number, place+1), Hue: hue(number), Hatch: hatch(number), Name: trackName(t.File), Bus: plain(t.Bus), Role: plain(t.Role),
		Ridge: ridge(power.heights(power.top())), Shape: where(power), Percent: percent(t.Confidence), Loose: t.Confidence < likelyFrom,
	}
	for i, r := range t.Reasons {
		if text := typeset(plain(inLane(&r))); i == 0 {
			v.Why = text
		} else {
			v.More = append(v.More, text)
		}
	}
	for i := range v.Pips {
		v.Pips[i] = t.Confidence > (float64(i)+0.5)/pips
	}
	switch {
	case t.Confidence >= firmFrom:
		v.Firm = "firm"
	case t.Confidence >= likelyFrom:
		v.Firm = "likely"
	case t.Confidence >= openFrom:
		v.Firm = "open"
	default:
		v.Firm = "a near thing"
	}
	if t.RunnerUp != "" {
		next := badge{Name: plain(t.RunnerUp)}
		if n := slices.IndexFunc(s.Pairs, func(p sheet.Pair) bool { return p.Name == t.RunnerUp }); n >= 0 {
			next = badgeOf(n+1, t.RunnerUp)
		}
		v.Next = &next
	}
	return v
}

// inLane shortens a comparison of two pairs, for both are at hand: a strip lies in its own lane and names the next one.
func inLane(r *sheet.Reason) string {
	c := r.Comparison
	if c == nil {
		return r.Text()
	}
	return fmt.Sprintf("%s (this pair %s, next %s)", r.Fact, sheet.WithUnit(c.NearerValue, r.Unit), sheet.WithUnit(c.FartherValue, r.Unit))
}

// strongDB is how far below the strongest band a register still counts as strong.
const strongDB = 10.0

// where names the span of registers in which the power lies.
func where(p bands) string {
	top := p.top()
	if top <= 0 {
		return "silent"
	}
	first, last := -1, -1
	for b, h := range p.heights(top) {
		if h > 1-strongDB/rangeDB {
			if first < 0 {
				first = b
			}
			last = b
		}
	}
	from, to := registerOf(first), registerOf(last)
	if from == to {
		return registers[from].Name
	}
	return registers[from].Name + " to " + registers[to].Name
}

// registerOf is the register that holds the middle of an octave band.
func registerOf(band int) int {
	x := (float64(band) + centreShift) * boxWide / octaves
	for i, r := range registers {
		if x < r.X+r.Wide {
			return i
		}
	}
	return len(registers) - 1
}
