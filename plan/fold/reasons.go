package fold

import (
	"cmp"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
	"foldout/features/align"
	"foldout/features/kinship"
	"foldout/plan/company"
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
	if t.Company != nil {
		return sheet.Reason{Fact: "left and right of one part with " + name, Measure: "other side", Value: sheet.Round(100*t.Company.Probability, 0), Unit: "%", Detail: t.Company.Text()}
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
	first, second, open := s.own(i).doubt()
	if s.Hints[i].Known() == 0 {
		first, second, open = s.Heard[i].doubt()
	}
	one, other, unsure := s.Heard[i].doubt()
	switch {
	case said < 0.5 && open:
		r.Fact = fmt.Sprintf("not sure: %s or %s", first.role, second.role)
		r.Detail = percent(first.p) + " and " + percent(second.p)
		r.Value = sheet.Round(100*first.p, 0)
	case said < 0.5 && heard != role && isVoice(heard) && isVoice(role):
		r.Fact = "a voice by ear, taken as " + trade.WithArticle(role)
		r.Value = sheet.Round(100*s.Heard[i].voice(), 0)
		r.Detail = percent(s.Heard[i].voice())
	case said < 0.5 && heard == role:
		r.Fact, r.Detail = "sounds like "+trade.WithArticle(role), percent(p)
	case said < 0.5:
		r.Fact = fmt.Sprintf("taken as %s (%s), sounds a little like %s", trade.WithArticle(role), percent(sure), trade.WithArticle(heard))
		r.Detail = percent(p)
	case named == role && heard == role:
		r.Fact, r.Detail = role+" by name and ear", percent(p)
	case named == role && isVoice(named) && isVoice(heard):
		// which of the two it is, a sound by itself hardly tells
		r.Fact = role + " by name, a voice by ear"
		r.Value = sheet.Round(100*s.Heard[i].voice(), 0)
		r.Detail = percent(s.Heard[i].voice())
	case named == role && unsure:
		r = sheet.Reason{Measure: "name", Value: sheet.Round(100*said, 0), Unit: "%"}
		r.Fact = fmt.Sprintf("named %q, by ear not sure: %s or %s", words, one.role, other.role)
	case named == role:
		r = sheet.Reason{Measure: "name", Value: sheet.Round(100*said, 0), Unit: "%"}
		r.Fact, r.Detail = fmt.Sprintf("named %q, heard as %s", words, trade.WithArticle(heard)), percent(p)
	default:
		r.Fact, r.Detail = fmt.Sprintf("named %q, but taken as %s", words, trade.WithArticle(role)), percent(sure)
		r.Value = sheet.Round(100*sure, 0)
	}
	return r
}

// saidOfCompany words the measures of package company: for a lead, for a backing voice, and how the figure is read.
var saidOfCompany = map[string]struct {
	lead, backing, unit string
	shown               func(v float64) float64
}{
	"time":      {"sings most of the time", "sings now and then", "%", func(v float64) float64 { return 100 * (v + 0.5) }},
	"more time": {"sings more than the other voices", "sings less than another voice", "%", func(v float64) float64 { return 100 * math.Abs(v) }},
	"louder":    {"louder than the other voices", "softer than the other voices", "dB", func(v float64) float64 { return 10 * math.Abs(v) }},
	"in step":   {"sings apart from the other voices", "sings in step with other voices", "", func(v float64) float64 { return math.Expm1(v + 0.4) }},
}

// leastTerm is what a measure of company has to add to the log odds to be given as a reason.
const leastTerm = 0.2

// companyReason says what most settled lead against backing where no name does.
func (s *Session) companyReason(i int) []sheet.Reason {
	c := s.company[i]
	role, _ := s.own(i).Best()
	_, said := s.Hints[i].Best()
	sign := map[string]float64{"lead vocal": 1, "backing vocal": -1}[role]
	if said >= 0.5 || sign == 0 {
		return nil
	}
	best, most := "", leastTerm
	var value float64
	for j, t := range c.Terms {
		name := company.Measures[j]
		// a measure is told only where it points the way that its words say
		if _, ok := saidOfCompany[name]; ok && sign*t > most && (name == "in step" || sign*c.Measured[j] > 0) {
			best, most, value = name, sign*t, c.Measured[j]
		}
	}
	if best == "" {
		return nil
	}
	w := saidOfCompany[best]
	r := sheet.Reason{Fact: w.lead, Measure: "voices", Value: sheet.Round(w.shown(value), 2), Unit: w.unit}
	if sign < 0 {
		r.Fact = w.backing
	}
	switch best {
	case "time":
		r.Detail = fmt.Sprintf("%.0f %%", r.Value)
	case "louder":
		r.Detail = fmt.Sprintf("%.0f dB", r.Value)
	}
	return []sheet.Reason{r}
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
		if t.reason.Convinces() {
			out = append(out, t.reason)
		}
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
	return align.Median(v)
}
