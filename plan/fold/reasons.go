package fold

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
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
		out = append(out, TieReason(t, name, t.A == i))
	}
	slices.SortStableFunc(out, func(a, b sheet.Reason) int { return cmp.Compare(b.Value, a.Value) })
	return out
}

func TieReason(t Tie, name string, made bool) sheet.Reason {
	if t.ByUser {
		return sheet.Reason{Fact: "you tied it to " + name, Measure: "tie", Value: 1}
	}
	if t.ByName {
		return sheet.Reason{Fact: "by name the other side of " + name, Measure: "name", Value: 1}
	}
	r := t.Relation
	coherence := sheet.Reason{Measure: "coherence", Value: sheet.Round(r.Coherence, 3), Detail: fmt.Sprintf("coherence %.2f", r.Coherence)}
	share := sheet.Reason{Measure: "share of energy", Value: sheet.Round(100*r.Share, 1), Unit: "%"}
	percent := fmt.Sprintf("%.0f %%", 100*r.Share)
	switch r.Kind {
	case kinship.Identical:
		coherence.Fact = "the same recording as " + name
	case kinship.Copy:
		coherence.Fact = "the same performance as " + name
		coherence.Detail += ", " + milliseconds(r.LagSeconds) + " apart"
	case kinship.Processed:
		coherence.Fact = name + " is a processed copy of it"
		if made {
			coherence.Fact = "a processed copy of " + name
		}
	case kinship.Sides:
		coherence.Fact = "one stereo sound with " + name
		return coherence
	case kinship.Sum:
		share.Fact, share.Detail = "part of the mix on "+name, percent+" of that track's energy"
		if made {
			share.Fact, share.Detail = "a mix that holds "+name, percent+" of its energy"
		}
		return share
	default: // Return, the last kind that ties
		share.Fact, share.Detail = "feeds the effect return "+name, percent+" of that follows it"
		if made {
			share.Fact, share.Detail = "an effect return fed by "+name, percent+" of its energy follows it"
		}
		return share
	}
	if r.PolarityFlipped {
		coherence.Detail += ", polarity flipped"
	}
	return coherence
}

func milliseconds(seconds float64) string { return fmt.Sprintf("%.1f ms", math.Abs(seconds)*1000) }

// RoleReason says what the name and the sound speak for.
func (s *Session) RoleReason(i int) sheet.Reason {
	role, sure := s.own(i).Best()
	named, said := s.Hints[i].Best()
	heard, p := s.Heard[i].Best()
	r := sheet.Reason{Measure: "heard", Value: sheet.Round(100*p, 0), Unit: "%"}
	percent := func(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }
	words := strings.Join(s.Hints[i].Words, " ")
	switch {
	case said < 0.5 && heard == role:
		r.Fact, r.Detail = "sounds like "+trade.WithArticle(role), percent(p)
	case said < 0.5:
		r.Fact = fmt.Sprintf("taken as %s (%s), sounds a little like %s", trade.WithArticle(role), percent(sure), trade.WithArticle(heard))
		r.Detail = percent(p)
	case named == role && heard == role:
		r.Fact, r.Detail = role+" by name and ear", percent(p)
	case named == role:
		r = sheet.Reason{Measure: "name", Value: sheet.Round(100*said, 0), Unit: "%"}
		r.Fact, r.Detail = fmt.Sprintf("named %q, heard as %s", words, trade.WithArticle(heard)), percent(p)
	default:
		r.Fact, r.Detail = fmt.Sprintf("named %q, but taken as %s", words, trade.WithArticle(role)), percent(sure)
		r.Value = sheet.Round(100*sure, 0)
	}
	return r
}

// distanceReasons lists the measures in which track p lies nearer to its own pair than to the runner-up, by how much
// each adds to the difference of squared distances, largest first.
func (s *Session) distanceReasons(labels []int, p, next int, names []string, centres *mat.Dense) []sheet.Reason {
	if next < 0 {
		return nil
	}
	own := labels[p]
	gains := cluster.DistanceTerms(nil, s.Space.RawRowView(p), centres.RawRowView(own), centres.RawRowView(next))
	type term struct {
		reason sheet.Reason
		gain   float64
	}
	var terms []term
	for c, col := range s.Columns {
		if col.Raw == nil {
			continue
		}
		if gains[c] <= 0 {
			continue
		}
		shown := col.Raw.Shown(&s.Tracks[s.Live[p]].Profile)
		terms = append(terms, term{sheet.Reason{
			Fact: col.Raw.Name + " " + sheet.WithUnit(shown, col.Raw.Unit), Measure: col.Raw.Name, Value: sheet.Round(shown, 3), Unit: col.Raw.Unit,
			Comparison: &sheet.Comparison{
				Nearer: names[own], NearerValue: sheet.Round(s.typical(labels, c, own), 3),
				Farther: names[next], FartherValue: sheet.Round(s.typical(labels, c, next), 3),
			},
		}, gains[c]})
	}
	slices.SortStableFunc(terms, func(a, b term) int { return cmp.Compare(b.gain, a.gain) })
	var out []sheet.Reason
	for _, t := range terms {
		out = append(out, t.reason)
	}
	return out
}

// typical is the middle value of a measure among the tracks of a pair, as people read it.
func (s *Session) typical(labels []int, c, pair int) float64 {
	var v []float64
	for p, l := range labels {
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
