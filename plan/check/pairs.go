package check

import (
	"fmt"
	"slices"
	"strings"

	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// parted lists ties between tracks on different pairs.
func (c *checking) parted(r *sheet.Judgement) {
	for _, t := range c.Ties {
		a, b := c.pairOf(t.A), c.pairOf(t.B)
		if a < 0 || b < 0 || a == b {
			continue
		}
		name := sheet.TrackName(c.Tracks[t.B].Profile.File)
		why := fold.TieReason(t, name, true)
		r.Parted = append(r.Parted, sheet.Parted{
			File: c.Tracks[t.A].Profile.File, On: a + 1, Source: c.Tracks[t.B].Profile.File, Home: b + 1,
			Text: fmt.Sprintf("%s, but that is on pair %d", why.Text(), b+1),
		})
	}
}

// Crowded means more than twice an even share of the tracks, and more than this number.
const crowdedFrom = 10

// pairVerdicts says of every pair what it holds and whether it is crowded, idle or mixed.
func (c *checking) pairVerdicts(r *sheet.Judgement) {
	sizes := make([]int, c.placed.Pairs)
	total := 0
	for _, q := range c.placed.Labels {
		if q >= 0 {
			sizes[q]++
			total++
		}
	}
	strays := map[int]int{}
	for _, m := range r.Misfits {
		strays[m.On]++
	}
	for q, n := range sizes {
		v := sheet.PairVerdict{Name: c.names[q], Tracks: n, Holds: c.holds(q, -1), Verdict: "fine"}
		switch {
		case n == 0:
			v.Holds, v.Verdict, v.Text = "", "idle", "no track uses these two outputs"
		case n > crowdedFrom && n*c.placed.Pairs > 2*total:
			v.Verdict = "crowded"
			v.Text = fmt.Sprintf("%d of %d tracks leave through this one pair, where an even share is %.0f", n, total, float64(total)/float64(c.placed.Pairs))
		case strays[q+1] == n:
			v.Verdict = "mixed"
			v.Text = "nothing on it belongs there: it would come free"
		case 2*strays[q+1] >= n:
			v.Verdict = "mixed"
			v.Text = fmt.Sprintf("%d of its %d tracks belong elsewhere", strays[q+1], n)
		case strays[q+1] > 0:
			v.Verdict = "mixed"
			v.Text = fmt.Sprintf("sound but for %s", sheet.Plural(strays[q+1], "track", "tracks"))
		default:
			v.Text = "everything on it belongs together"
		}
		r.Pairs = append(r.Pairs, v)
	}
}

// praise says what is right.
func (c *checking) praise(r *sheet.Judgement) {
	var whole []string
	for q, v := range r.Pairs {
		if v.Verdict == "fine" && v.Tracks > 0 && !slices.ContainsFunc(r.Misfits, func(m sheet.Misfit) bool { return m.On == q+1 }) {
			whole = append(whole, fmt.Sprintf("%d (%s)", q+1, c.names[q]))
		}
	}
	switch {
	case len(r.Misfits) == 0 && len(r.Missing) == 0:
		r.Praise = append(r.Praise, "every track is where it belongs")
	case len(whole) == 1:
		r.Praise = append(r.Praise, "pair "+whole[0]+" is right as it is")
	case len(whole) > 1:
		r.Praise = append(r.Praise, "pairs "+strings.Join(whole[:len(whole)-1], ", ")+" and "+whole[len(whole)-1]+" are right as they are")
	}
	together, apart := 0, 0
	for _, t := range c.Ties {
		if a, b := c.pairOf(t.A), c.pairOf(t.B); a >= 0 && b >= 0 {
			if a == b {
				together++
			} else {
				apart++
			}
		}
	}
	if together > 0 && apart == 0 {
		r.Praise = append(r.Praise, fmt.Sprintf("all copies, sides and returns sit with what they come from (%s)", sheet.Plural(together, "tie", "ties")))
	} else if together > 0 {
		r.Praise = append(r.Praise, fmt.Sprintf("%d of %d copies, sides and returns sit with what they come from", together, together+apart))
	}
}

// manualNames names the pairs of a manual sheet: by the sheet itself, else by what most of their tracks are.
func manualNames(s *fold.Session, m *sheet.Manual, labels []int) []string {
	names := s.PairNames(labels, len(m.Names))
	for q, n := range m.Names {
		if n != "" {
			names[q] = n
		}
	}
	return names
}

// exampleNames shows how the folder's tracks are called.
func exampleNames(s *fold.Session) string {
	var list []string
	for _, i := range s.Live[:min(2, len(s.Live))] {
		list = append(list, fmt.Sprintf("%q", s.Tracks[i].Profile.File))
	}
	return strings.Join(list, " or ")
}
