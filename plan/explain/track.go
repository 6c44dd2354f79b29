package explain

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/plan/fold"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// ofTrack argues for the place of live track p.
func (e *explaining) ofTrack(p int) (*Explanation, error) {
	i, own := e.Live[p], e.labels[p]
	profile := &e.Tracks[i].Profile
	name := sheet.TrackName(profile.File)
	centres := e.Centres(e.labels, len(e.names))
	next := e.RunnerUp(p, own, centres)
	x := &Explanation{Title: fmt.Sprintf("%s: pair %d, %s", name, own+1, e.names[own])}

	what := Section{Head: "What it is"}
	role := e.RoleReason(i)
	what.Paragraphs = append(what.Paragraphs, sentence(role.Text())+" "+e.otherGuesses(i))
	var kin []string
	for _, r := range e.TieReasons(i) {
		kin = append(kin, r.Text())
	}
	if len(kin) > 0 {
		what.Paragraphs = append(what.Paragraphs, "Its kin, found by comparing the recordings themselves: it is "+strings.Join(kin, "; ")+". Tracks that carry one performance stay on one pair: apart they would pass two channels, be coloured twice and differently, and could comb where they meet again.")
	}
	x.Sections = append(x.Sections, what)

	x.Sections = append(x.Sections, e.company(p, own, next, centres.RawRowView(own), func(q int) []float64 { return centres.RawRowView(q) }))

	tracks, heads := [][]int{{p}, without(e.on(own), []int{p})}, []string{name, fmt.Sprintf("rest of pair %d", own+1)}
	if next >= 0 {
		tracks, heads = append(tracks, e.on(next)), append(heads, fmt.Sprintf("pair %d, %s", next+1, e.names[next]))
	}
	look := Section{Head: "Its sound against theirs"}
	for k := range tracks {
		if len(tracks[k]) > 0 {
			look.Spectrum = append(look.Spectrum, e.spectrumOf(heads[k], tracks[k]))
		}
	}
	look.Table = [][]string{append([]string{""}, heads...)}
	for _, r := range envelopeRows {
		row := []string{r.name}
		for _, t := range tracks {
			row = append(row, e.medianText(t, r.value, r.text))
		}
		look.Table = append(look.Table, row)
	}
	x.Sections = append(x.Sections, look)

	more, err := e.onePairMore(p)
	if err != nil {
		return nil, err
	}
	x.Sections = append(x.Sections, more)
	return x, nil
}

// otherGuesses names the two next best roles the ears hear.
func (e *explaining) otherGuesses(i int) string {
	heard := e.Heard[i]
	order := make([]int, len(heard))
	for r := range order {
		order[r] = r
	}
	slices.SortStableFunc(order, func(a, b int) int {
		switch {
		case heard[a] > heard[b]:
			return -1
		case heard[a] < heard[b]:
			return 1
		}
		return 0
	})
	var parts []string
	for _, r := range order[:3] {
		if heard[r] >= leastHeard {
			parts = append(parts, fmt.Sprintf("%s %.0f %%", trade.Roles[r], 100*heard[r]))
		}
	}
	return "By ear alone: " + strings.Join(parts, ", ") + "."
}

const (
	leastHeard = 0.02 // probability from which a role is worth a word (chosen)
	nearThing  = 1.3  // squared distances whose ratio is below this are called a near thing: 14 % in distance (chosen)
)

// company argues with the pair's members and the distances.
func (e *explaining) company(p, own, next int, centre []float64, at func(q int) []float64) Section {
	sec := Section{Head: "Why here"}
	name := sheet.TrackName(e.Tracks[e.Live[p]].Profile.File)
	if others := without(e.on(own), []int{p}); len(others) > 0 {
		sec.Paragraphs = append(sec.Paragraphs, fmt.Sprintf("It shares pair %d with %s.", own+1, e.list(others)))
	} else {
		sec.Paragraphs = append(sec.Paragraphs, fmt.Sprintf("It has pair %d to itself.", own+1))
	}
	if text := e.argument(own); text != "" {
		sec.Paragraphs = append(sec.Paragraphs, text)
	}
	sec.Paragraphs = append(sec.Paragraphs, e.habitsOf([]int{p})...)
	if next >= 0 {
		a, b := e.Distance(p, centre), e.Distance(p, at(next))
		text := fmt.Sprintf("In the space of roles and measures it lies %.2f from the middle of its pair and %.2f from that of the next best, pair %d (%s).", math.Sqrt(a), math.Sqrt(b), next+1, e.names[next])
		switch {
		case b < a:
			text += fmt.Sprintf(" By distance alone pair %d would be nearer; a tie, a pin or the sheet's own order keeps it here.", next+1)
		case b < nearThing*a:
			text += " That is a near thing; trust your ears."
		default:
			text += " That is clear."
		}
		sec.Paragraphs = append(sec.Paragraphs, text)
	}
	v := e.Astray(e.labels, len(e.names))[p]
	if v.Stray >= fold.DoubtfulFrom {
		sec.Paragraphs = append(sec.Paragraphs, fmt.Sprintf("By the company of all the others %s is out of place with a probability of %.0f %%.", name, 100*v.Stray))
	}
	return sec
}

// sentence starts with a capital and ends with a full stop.
func sentence(text string) string {
	if text == "" {
		return ""
	}
	return strings.ToUpper(text[:1]) + text[1:] + "."
}
