package plan

import (
	"fmt"
	"slices"
	"strings"
)

// parted lists ties between tracks on different pairs.
func (c *checking) parted(r *Report) {
	for _, t := range c.Ties {
		a, b := c.pairOf(t.A), c.pairOf(t.B)
		if a < 0 || b < 0 || a == b {
			continue
		}
		name := trackName(c.Tracks[t.B].Profile.File)
		text := "you tied it to " + name
		if !t.ByUser {
			text = tieReason(t, name, true).Text
		}
		r.Parted = append(r.Parted, Parted{
			File: c.Tracks[t.A].Profile.File, On: a + 1, Source: c.Tracks[t.B].Profile.File, Home: b + 1,
			Text: fmt.Sprintf("%s, but that is on pair %d", text, b+1),
		})
	}
}

// Crowded means more than twice an even share of the tracks, and more than this number.
const crowdedFrom = 10

// pairVerdicts says of every pair what it holds and whether it is crowded, idle or mixed.
func (c *checking) pairVerdicts(r *Report) {
	sizes := make([]int, c.placed.pairs)
	total := 0
	for _, q := range c.placed.labels {
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
		v := PairVerdict{Name: c.names[q], Tracks: n, Holds: c.holds(q, -1), Verdict: "fine"}
		switch {
		case n == 0:
			v.Holds, v.Verdict, v.Text = "", "idle", "no track uses these two outputs"
		case n > crowdedFrom && n*c.placed.pairs > 2*total:
			v.Verdict = "crowded"
			v.Text = fmt.Sprintf("%d of %d tracks leave through this one pair, where an even share is %.0f", n, total, float64(total)/float64(c.placed.pairs))
		case strays[q+1] == n:
			v.Verdict = "mixed"
			v.Text = "nothing on it belongs there: it would come free"
		case 2*strays[q+1] >= n:
			v.Verdict = "mixed"
			v.Text = fmt.Sprintf("%d of its %d tracks belong elsewhere", strays[q+1], n)
		case strays[q+1] > 0:
			v.Text = fmt.Sprintf("sound but for %s", plural(strays[q+1], "track", "tracks"))
		default:
			v.Text = "everything on it belongs together"
		}
		r.Pairs = append(r.Pairs, v)
	}
}

// praise says what is right.
func (c *checking) praise(r *Report) {
	var whole []string
	for q, v := range r.Pairs {
		if v.Verdict == "fine" && v.Tracks > 0 && !slices.ContainsFunc(r.Misfits, func(m Misfit) bool { return m.On == q+1 }) {
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
		r.Praise = append(r.Praise, fmt.Sprintf("all copies, sides and returns sit with what they come from (%s)", plural(together, "tie", "ties")))
	} else if together > 0 {
		r.Praise = append(r.Praise, fmt.Sprintf("%d of %d copies, sides and returns sit with what they come from", together, together+apart))
	}
}

// manualNames names the pairs of a manual sheet: by the sheet itself, else by what most of their tracks are.
func (s *Session) manualNames(m *Manual, labels []int) []string {
	names := s.pairNames(labels, len(m.Names))
	for q, n := range m.Names {
		if n != "" {
			names[q] = n
		}
	}
	return names
}

// pairNames names the pairs of any fold by the kinds that make up most of their tracks.
func (s *Session) pairNames(labels []int, pairs int) []string {
	buses := make([][]string, pairs)
	for q := range buses {
		count := map[string]int{}
		most := 0
		for p, l := range labels {
			if l == q {
				count[s.bus(p)]++
				most = max(most, count[s.bus(p)])
			}
		}
		for _, role := range Roles {
			b := busFor(role)
			if count[b] > 0 && minorShare*count[b] >= most && !slices.Contains(buses[q], b) {
				buses[q] = append(buses[q], b)
			}
		}
	}
	return namePairs(buses)
}

// minorShare: a kind with less than one track to so many of the pair's largest kind does not enter the pair's name.
const minorShare = 6

// exampleNames shows how the folder's tracks are called.
func (s *Session) exampleNames() string {
	var list []string
	for _, i := range s.Live[:min(2, len(s.Live))] {
		list = append(list, fmt.Sprintf("%q", s.Tracks[i].Profile.File))
	}
	return strings.Join(list, " or ")
}
