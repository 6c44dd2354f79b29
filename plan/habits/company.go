package habits

import "foldout/plan/trade"

// Together is how badly two roles sit on one pair for somebody with these heights: what the trade says
// (trade.HabitTogether), mended by how much nearer or farther the two are here. A nil Space is the trade itself.
func (s *Space) Together(r, o int, at func(role int) bool) float64 {
	clash := trade.HabitTogether(r, o, at)
	if s == nil || r == o {
		return clash
	}
	if ratio := s.ratio(r, o); ratio < 1 {
		return clash * ratio
	} else {
		return 1 - (1-clash)/ratio
	}
}

// ratio compares the height of two roles with the trade's.
func (s *Space) ratio(r, o int) float64 { return s.Heights[r][o] / s.trade[r][o] }

// Held is the part of the trade's bond between a role and others that holds for somebody with these heights: 1 where they are
// as near as in the trade, less where they are farther apart.
func (s *Space) Held(r int, others []int) float64 {
	if s == nil {
		return 1
	}
	var sum float64
	for _, o := range others {
		sum += min(1, 1/s.ratio(r, o))
	}
	return sum / float64(len(others))
}

// Height is the squared distance of two pure roles; a nil Space is the trade's.
func (s *Space) Height(r, o int) float64 {
	if s == nil {
		return trade.TreeDistance(r, o)
	}
	return s.Heights[r][o]
}

// partedFrom is the height from which engineers part what meets there as soon as there are pairs: that of drums and
// percussion in the trade's tree.
var partedFrom = trade.TreeDistance(trade.RoleIndex["kick"], trade.RoleIndex["percussion"])

// Parts tells whether somebody with these heights parts two sets of roles that the trade keeps together: they meet, on the
// average, where the trade parts things.
func (s *Space) Parts(a, b []int) bool {
	if s == nil || len(a) == 0 || len(b) == 0 {
		return false
	}
	var sum float64
	for _, r := range a {
		for _, o := range b {
			sum += s.Heights[r][o]
		}
	}
	return sum/float64(len(a)*len(b)) >= partedFrom
}
