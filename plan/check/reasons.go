package check

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/features/align"
	"foldout/plan/fold"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// misfitReasons says why live track p is out of place on pair on and belongs on pair to: what it is tied to there,
// what it is, what the two pairs hold, and the measure in which it stands out most.
func (c *checking) misfitReasons(p, on, to int) []sheet.Reason {
	i := c.Live[p]
	var out []sheet.Reason
	for _, t := range c.Ties {
		other := t.A + t.B - i
		if t.A != i && t.B != i {
			continue
		}
		if q := c.pairOf(other); q == to {
			reason := fold.TieReason(t, sheet.TrackName(c.Tracks[other].Profile.File), t.A == i)
			reason.Fact += fmt.Sprintf(", which is on pair %d", to+1)
			out = append(out, reason)
			break
		}
	}
	out = append(out, c.RoleReason(i))
	out = append(out, sheet.Reason{Measure: "company", Value: float64(c.akin(p, to)), Unit: "tracks", Fact: c.companyText(p, on, to)})
	if r, ok := c.farthest(p, on, to); ok && !c.comesFree(to) {
		out = append(out, r)
	}
	return out
}

func (c *checking) pairOf(track int) int {
	if p := slices.Index(c.Live, track); p >= 0 {
		return c.placed.Labels[p]
	}
	return -1
}

// kindAt names the kind of a live track: its bus.
func (c *checking) kindAt(p int) string { return c.Bus(p) }

// akin counts the other tracks of p's kind on a pair.
func (c *checking) akin(p, pair int) int {
	n := 0
	for o, q := range c.placed.Labels {
		if o != p && q == pair && c.kindAt(o) == c.kindAt(p) {
			n++
		}
	}
	return n
}

func (c *checking) companyText(p, on, to int) string {
	here, there := c.akin(p, on), c.akin(p, to)
	kind := strings.ToLower(c.kindAt(p))
	text := fmt.Sprintf("pair %d holds %s; ", on+1, c.holds(on, p))
	switch {
	case there > 0 && here == 0:
		text += fmt.Sprintf("%s of its kind (%s) %s on pair %d", sheet.Plural(there, "track", "tracks"), kind, isAre(there), to+1)
	case there > 0:
		text += fmt.Sprintf("of its kind (%s) there %s %d on pair %d and %d here", kind, isAre(there), there, to+1, here)
	case c.comesFree(to):
		text += fmt.Sprintf("pair %d comes free", to+1)
	default:
		text += fmt.Sprintf("pair %d (%s) is closer to its kind (%s)", to+1, c.holds(to, p), kind)
	}
	return text
}

// comesFree tells whether all that a pair holds is told to go elsewhere.
func (c *checking) comesFree(pair int) bool {
	for p, q := range c.placed.Labels {
		if q == pair && c.verdicts[p].Stray < fold.MisfitFrom {
			return false
		}
	}
	return true
}

func isAre(n int) string {
	if n == 1 {
		return "is"
	}
	return "are"
}

// holds lists the kinds on a pair, most numerous first, one track left out (-1 for none).
func (c *checking) holds(pair, without int) string {
	count := map[string]int{}
	var kinds []string
	for o, q := range c.placed.Labels {
		if q != pair || o == without {
			continue
		}
		k := strings.ToLower(c.kindAt(o))
		if count[k] == 0 {
			kinds = append(kinds, k)
		}
		count[k]++
	}
	if len(kinds) == 0 {
		return "nothing else"
	}
	slices.SortStableFunc(kinds, func(a, b string) int { return count[b] - count[a] })
	for i, k := range kinds {
		one := k
		if s := trade.Singular[k]; s != "" {
			one = s
		}
		kinds[i] = sheet.Plural(count[k], one, k)
	}
	return strings.Join(kinds, ", ")
}

// leastGain is how much nearer the other pair has to be, in deviations of the measure over the session, before it is worth a
// word: half of one (chosen; a smaller difference is hardly to be seen in the figures).
const leastGain = 0.5

// farthest finds the measure in which p lies farthest from the middle of its pair and nearer to that of the other.
func (c *checking) farthest(p, on, to int) (sheet.Reason, bool) {
	var best float64
	var out sheet.Reason
	for col, column := range c.Columns {
		if column.Raw == nil {
			continue
		}
		here, a := c.middle(col, on, p)
		there, b := c.middle(col, to, p)
		v := c.Space.At(p, col)
		gain := (math.Abs(v-here) - math.Abs(v-there)) / column.Scale
		if !a || !b || gain <= best || gain < leastGain {
			continue
		}
		shown := column.Raw.Shown(&c.Tracks[c.Live[p]].Profile)
		r := sheet.Reason{
			Fact: column.Raw.Name + " " + sheet.WithUnit(shown, column.Raw.Unit), Measure: column.Raw.Name, Value: sheet.Round(shown, 3), Unit: column.Raw.Unit,
			Comparison: &sheet.Comparison{
				Nearer: fmt.Sprintf("pair %d", to+1), NearerValue: sheet.Round(c.middleShown(col, to, p), 3),
				Farther: fmt.Sprintf("pair %d", on+1), FartherValue: sheet.Round(c.middleShown(col, on, p), 3),
			},
		}
		if r.Convinces() {
			best, out = gain, r
		}
	}
	return out, best > 0
}

// middle is the median of a column over a pair's tracks, one left out.
func (c *checking) middle(col, pair, without int) (float64, bool) {
	var v []float64
	for o, q := range c.placed.Labels {
		if q == pair && o != without {
			v = append(v, c.Space.At(o, col))
		}
	}
	if len(v) == 0 {
		return 0, false
	}
	return align.Median(v), true
}

func (c *checking) middleShown(col, pair, without int) float64 {
	var v []float64
	for o, q := range c.placed.Labels {
		if q == pair && o != without {
			v = append(v, c.Columns[col].Raw.Shown(&c.Tracks[c.Live[o]].Profile))
		}
	}
	return align.Median(v)
}
