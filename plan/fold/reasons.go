package fold

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"foldout/features/kinship"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// mostReasons is the number of reasons given for one track.
const mostReasons = 3

// TieReasons says which ties hold track i where it is.
func (s *Session) TieReasons(i int) []sheet.Reason {
	var out []sheet.Reason
	for _, t := range s.Ties {
		other := t.B
		if t.B == i {
			other = t.A
		} else if t.A != i {
			continue
		}
		name := sheet.TrackName(s.Tracks[other].Profile.File)
		if t.ByUser {
			out = append(out, sheet.Reason{Text: "you tied it to " + name, Measure: "tie", Value: 1})
			continue
		}
		out = append(out, TieReason(t, name, t.A == i))
	}
	slices.SortStableFunc(out, func(a, b sheet.Reason) int { return cmp.Compare(b.Value, a.Value) })
	return out
}

func TieReason(t Tie, name string, made bool) sheet.Reason {
	if t.ByName {
		return sheet.Reason{Text: "by name the other side of " + name, Measure: "name", Value: 1}
	}
	r := t.Relation
	flipped := ""
	if r.PolarityFlipped {
		flipped = ", polarity flipped"
	}
	coherence := sheet.Reason{Measure: "coherence", Value: sheet.Round(r.Coherence, 3)}
	share := sheet.Reason{Measure: "share of energy", Value: sheet.Round(100*r.Share, 1), Unit: "%"}
	switch r.Kind {
	case kinship.Identical:
		coherence.Text = fmt.Sprintf("the same recording as %s (coherence %.2f%s)", name, r.Coherence, flipped)
		return coherence
	case kinship.Copy:
		coherence.Text = fmt.Sprintf("the same performance as %s (coherence %.2f, %s apart%s)", name, r.Coherence, milliseconds(r.LagSeconds), flipped)
		return coherence
	case kinship.Compressed:
		if made {
			coherence.Text = fmt.Sprintf("a processed copy of %s (coherence %.2f%s)", name, r.Coherence, flipped)
		} else {
			coherence.Text = fmt.Sprintf("%s is a processed copy of it (coherence %.2f%s)", name, r.Coherence, flipped)
		}
		return coherence
	case kinship.SplitStereo:
		coherence.Text = fmt.Sprintf("one stereo sound with %s (coherence %.2f)", name, r.Coherence)
		return coherence
	case kinship.PartOfSum:
		if made {
			share.Text = fmt.Sprintf("a mix that holds %s (%.0f %% of its energy)", name, 100*r.Share)
		} else {
			share.Text = fmt.Sprintf("part of the mix on %s (%.0f %% of that track's energy)", name, 100*r.Share)
		}
		return share
	default: // Return, the last kind that ties
		if made {
			share.Text = fmt.Sprintf("an effect return fed by %s (%.0f %% of its energy follows it)", name, 100*r.Share)
		} else {
			share.Text = fmt.Sprintf("feeds the effect return %s (%.0f %% of that follows it)", name, 100*r.Share)
		}
		return share
	}
}

func milliseconds(seconds float64) string { return fmt.Sprintf("%.1f ms", math.Abs(seconds)*1000) }

// RoleReason says what the name and the sound speak for.
func (s *Session) RoleReason(i int) sheet.Reason {
	role, sure := s.Belief[i].Best()
	named, said := s.Hints[i].Best()
	heard, p := s.Heard[i].Best()
	r := sheet.Reason{Measure: "heard", Value: sheet.Round(100*p, 0), Unit: "%"}
	switch {
	case said < 0.5 && heard == role:
		r.Text = fmt.Sprintf("sounds like %s (%.0f %%)", trade.WithArticle(role), 100*p)
	case said < 0.5:
		r.Text = fmt.Sprintf("taken as %s (%.0f %%), sounds a little like %s (%.0f %%)", trade.WithArticle(role), 100*sure, trade.WithArticle(heard), 100*p)
	case named == role && heard == role:
		r.Text = fmt.Sprintf("%s by name and ear (%.0f %%)", role, 100*p)
	case named == role:
		r = sheet.Reason{Measure: "name", Value: sheet.Round(100*said, 0), Unit: "%"}
		r.Text = fmt.Sprintf("named %q, heard as %s (%.0f %%)", strings.Join(s.Hints[i].Words, " "), trade.WithArticle(heard), 100*p)
	default:
		r.Text = fmt.Sprintf("named %q, but taken as %s (%.0f %%)", strings.Join(s.Hints[i].Words, " "), trade.WithArticle(role), 100*sure)
		r.Value = sheet.Round(100*sure, 0)
	}
	return r
}

// distanceReasons lists the measures in which track p lies nearer to its own pair than to the runner-up, by how much
// each adds to the difference of squared distances, largest first.
func (s *Session) distanceReasons(p, own, next int, names []string, centres *mat.Dense) []sheet.Reason {
	if next < 0 {
		return nil
	}
	type term struct {
		reason sheet.Reason
		gain   float64
	}
	var terms []term
	for c, col := range s.Columns {
		if col.Raw == nil {
			continue
		}
		v, a, b := s.Space.At(p, c), centres.At(own, c), centres.At(next, c)
		gain := (v-b)*(v-b) - (v-a)*(v-a)
		if gain <= 0 {
			continue
		}
		shown := col.Raw.Shown(&s.Tracks[s.Live[p]].Profile)
		terms = append(terms, term{sheet.Reason{
			Text: fmt.Sprintf("%s %s: nearer to %s (%s) than to %s (%s)", col.Raw.Name, col.Raw.Format(shown),
				names[own], col.Raw.Format(s.typical(c, own)), names[next], col.Raw.Format(s.typical(c, next))),
			Measure: col.Raw.Name, Value: sheet.Round(shown, 3), Unit: col.Raw.Unit,
		}, gain})
	}
	slices.SortStableFunc(terms, func(a, b term) int { return cmp.Compare(b.gain, a.gain) })
	var out []sheet.Reason
	for _, t := range terms {
		out = append(out, t.reason)
	}
	return out
}

// typical is the middle value of a measure among the tracks of a pair, as people read it.
func (s *Session) typical(c, pair int) float64 {
	var v []float64
	for p, l := range s.labels {
		if l == pair {
			v = append(v, s.Columns[c].Raw.Shown(&s.Tracks[s.Live[p]].Profile))
		}
	}
	if len(v) == 0 {
		return math.NaN()
	}
	slices.Sort(v)
	return v[len(v)/2]
}

// Format writes a value of the measure with its unit.
func (m *measure) Format(v float64) string {
	switch m.Unit {
	case "Hz":
		return sheet.Hertz(v)
	case "%":
		return fmt.Sprintf("%.0f %%", v)
	case "":
		return fmt.Sprintf("%.2f", v)
	}
	return fmt.Sprintf("%.1f %s", v, m.Unit)
}
