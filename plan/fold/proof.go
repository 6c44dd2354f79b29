package fold

import (
	"math"

	"foldout/features/kinship"
	"foldout/plan/trade"
)

// What the waveforms say of two tracks is weighed with what is known of each: kin lie in one section of the band, a
// room microphone is no effect return, and a name that says "return" or "parallel" speaks for one. Each is a
// likelihood ratio on the odds of the finding; the ratios are common practice, no source.
const (
	kinOneSection   = 0.98 // of the kin of the labelled sessions lie in one section
	otherOneSection = 0.5  // of the pairs that the waveforms take for kin, and are not
	roomIsReturn    = 0.2  // of what sounds like a room microphone and trails a source, against anything else
	namedReturn     = 8.0  // a name that says return or parallel, for a finding of that kind
	namedOtherwise  = 0.15 // a name that plainly says an instrument and nothing of a return, against one
	allExplained    = 0.8  // share of a track's energy from which one source explains it through a tail, and leaves room for no other
	allIsReturn     = 8.0  // of such a track, for a return; of 16 of which the waveforms were sure by 0.5 to 0.85 (0.69 in the mean) all were (testdata/kinship)
	plainName       = 0.85 // the probability from which a name plainly says a role
)

// certainty is the probability that a finding is true, all considered, 0..1.
func (s *Session) certainty(r kinship.Relation) float64 {
	if !r.Kind.Tie() || r.Kind == kinship.Identical {
		return r.Confidence
	}
	if _, told := s.sides[pairOf(r.A, r.B)]; told {
		return r.Confidence // all of this was considered there
	}
	if r.Copy > 0 {
		copies, _ := s.copyOrBleed(r)
		return copies
	}
	a, b := s.own(r.A), s.own(r.B)
	p := min(max(r.Confidence, 1e-6), 1-1e-6)
	odds := p / (1 - p)
	odds *= knownSection(a, b)
	if r.Kind == kinship.Return && r.Share >= allExplained {
		odds *= allIsReturn
	}
	hint := s.Hints[r.A]
	if r.Kind == kinship.Return || r.Kind == kinship.Sum {
		switch {
		case hint.Kind == "return" || hint.Kind == "parallel":
			odds *= namedReturn
		case hint.Known() >= plainName && hint.Role["drums"] < 0.5:
			odds *= namedOtherwise
		case r.Kind == kinship.Return:
			room := a[trade.RoleIndex["room"]]
			odds *= 1 - room + room*roomIsReturn
		}
	}
	return odds / (1 + odds)
}

// knownSection is the likelihood ratio of two tracks that are known to be of one section, or of two, with the probability that
// is believed; at most 1.
func knownSection(a, b Belief) float64 {
	same := sameSection(a, b)
	return min(1, (same*kinOneSection+(1-same)*(1-kinOneSection))/(same*otherOneSection+(1-same)*(1-otherOneSection)))
}

// binds reports whether a finding ties its tracks.
func (s *Session) binds(r kinship.Relation) bool {
	return r.Kind.Tie() && !r.Outdone && s.certainty(r) >= r.Enough()
}

// sectionOf is the section of the band of each role. Drums and percussion are one section here, and so are keys,
// strings and horns.
var sectionOf = func() []int {
	sections := [...]int{0, 0, 1, 2, 3, 3, 4} // of the groups of trade.HabitGroup
	out := make([]int, len(trade.Roles))
	for r, role := range trade.Roles {
		out[r] = sections[trade.HabitGroup[role]]
	}
	return out
}()

// sameSection is the probability that two tracks are of one section of the band.
func sameSection(a, b Belief) float64 {
	var pa, pb [5]float64
	for r, section := range sectionOf {
		pa[section] += a[r]
		pb[section] += b[r]
	}
	var same float64
	for k := range pa {
		same += pa[k] * pb[k]
	}
	return math.Min(same, 1)
}

// own is what is believed of a track by itself, without its kin.
func (s *Session) own(i int) Belief {
	if s.Own != nil {
		return s.Own[i]
	}
	return s.Belief[i]
}
