package fold

import (
	"slices"

	"foldout/cluster"
	"foldout/plan/trade"
)

// Where pairs are few a drum kit has one of them, whatever else is in the session: cymbals and rooms get a pair of their own from
// kitParts pairs on (common practice, no source). A session that would then fill fewer than leastUsed pairs is one of drums, and
// its kit is cut after all.
const (
	kitParts  = 6
	leastUsed = 3
)

// search finds the best fold of the live tracks onto at most k pairs, numbered as a sheet lists them, under the ties that hold at
// this number of pairs, and says what its mergers kept whole.
func (s *Session) search(k int) (labels []int, ties [][]int, whole []string, err error) {
	labels, whole, err = s.under(s.units, k)
	if err != nil {
		return nil, nil, nil, s.nameFailure(err, k)
	}
	ties = s.units
	if kit := s.kitCut(labels, k); kit != nil {
		closer := joined(s.units, kit)
		if again, kept, err := s.under(closer, k); err == nil && used(again) >= leastUsed {
			labels, ties, whole = again, closer, kept
		}
	}
	return s.order(labels, k), ties, whole, nil
}

// under folds under the ties given.
func (s *Session) under(units [][]int, k int) (labels []int, whole []string, err error) {
	res, err := cluster.KMeans(s.Space, k, cluster.Options{Weights: s.weights, MustLink: units, CannotLink: s.apart, Pin: s.pins, Restarts: restarts, Seed: s.opt.Seed})
	if err != nil {
		return nil, nil, err
	}
	labels, whole = s.leaveFree(res.Labels, k)
	return labels, whole, nil
}

// kitCut lists the tracks of a drum kit that lie on several pairs where they had better lie on one; nil if there are none, or if
// the engineer wants it so. Only pairs that hold more of the kit than of anything else count: a track that is heard as a drum by
// mistake stays where its company is.
func (s *Session) kitCut(labels []int, k int) []int {
	if k >= kitParts || s.opt.UseAll {
		return nil
	}
	kit, size := make([][]int, k), make([]int, k)
	for p, l := range labels {
		size[l]++
		if role, _ := s.Belief[s.Live[p]].Best(); trade.Kit[trade.KindOf[role]] {
			kit[l] = append(kit[l], p)
		}
	}
	var pairs []int
	for l := range k {
		if 2*len(kit[l]) > size[l] {
			pairs = append(pairs, l)
		}
	}
	if len(pairs) < 2 {
		return nil
	}
	var all []int
	for i, a := range pairs {
		for _, b := range pairs[:i] {
			if s.keptApart(labels, a, b) || s.habits.Parts(s.rolesOn(labels, a), s.rolesOn(labels, b)) {
				return nil
			}
		}
		all = append(all, kit[a]...)
	}
	slices.Sort(all)
	return all
}

// joined adds a tie to units that have no member in common.
func joined(units [][]int, tie []int) [][]int {
	tie = slices.Clone(tie)
	var out [][]int
	for _, u := range units {
		if slices.ContainsFunc(u, func(p int) bool { return slices.Contains(tie, p) }) {
			tie = append(tie, u...)
		} else {
			out = append(out, u)
		}
	}
	slices.Sort(tie)
	return append(out, slices.Compact(tie))
}

// used counts the pairs that hold a track.
func used(labels []int) int {
	return len(slices.Compact(slices.Sorted(slices.Values(labels))))
}
