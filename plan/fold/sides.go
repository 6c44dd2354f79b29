package fold

import (
	"slices"

	"foldout/features/kinship"
	"foldout/plan/company"
)

// sidesUnsaid is what remains of the odds that two tracks are left and right of one sound where both names plainly say what they are
// and neither says a side: whoever names tracks names the sides (common practice, no source).
const sidesUnsaid = 0.15

// Sought is what the live tracks, by their positions in Live, tell where left and right of one sound are sought. kin is what the
// waveforms say, before anything was weighed.
func (s *Session) Sought(kin Kin) (tracks []company.Side, said func(a, b int) company.Said) {
	place := map[int]int{}
	for p, i := range s.Live {
		t := company.SideOf(s.Tracks[i])
		t.Belief = s.own(i)
		tracks = append(tracks, t)
		place[i] = p
	}
	known := map[[2]int]company.Said{}
	for _, r := range kin {
		a, liveA := place[r.A]
		b, liveB := place[r.B]
		if liveA && liveB {
			known[pairOf(a, b)] = company.SaidOf(r)
		}
	}
	return tracks, func(a, b int) company.Said { return known[pairOf(a, b)] }
}

func pairOf(a, b int) [2]int { return [2]int{min(a, b), max(a, b)} }

// findSides adds to what was found the sides that are told by company, where names leave it open and no other kinship binds the two.
func (s *Session) findSides() {
	s.sides = map[[2]int]company.Sides{}
	for _, p := range company.FindSides(s.Sought(s.Kin)) {
		i, j := s.Live[p.A], s.Live[p.B]
		if s.Hints[i].Side != "" || s.Hints[j].Side != "" {
			continue
		}
		if s.Hints[i].Known() >= plainName && s.Hints[j].Known() >= plainName {
			odds := p.Probability / (1 - p.Probability) * sidesUnsaid
			p.Probability = odds / (1 + odds)
		}
		if p.Probability < kinship.Binds {
			continue
		}
		k := slices.IndexFunc(s.Kin, func(r kinship.Relation) bool { return pairOf(r.A, r.B) == pairOf(i, j) })
		switch {
		case k < 0:
			s.Kin = append(slices.Clone(s.Kin), kinship.Relation{A: min(i, j), B: max(i, j)})
			k = len(s.Kin) - 1
		case s.binds(s.Kin[k]):
			continue
		default:
			s.Kin = slices.Clone(s.Kin)
		}
		r := &s.Kin[k]
		if r.A > r.B {
			r.A, r.B = r.B, r.A
			r.LagSeconds = -r.LagSeconds
		}
		r.Kind, r.Confidence, r.Outdone, r.Faint = kinship.Sides, p.Probability, false, false
		s.sides[pairOf(i, j)] = p
	}
}
