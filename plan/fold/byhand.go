package fold

import (
	"fmt"
	"math"
	"slices"

	"foldout/plan/sheet"
)

// ByHand makes a Grouping of labels that somebody chose: labels holds the pair of each live track, 0..k-1, and names the
// names of pairs to keep, "" for one that is to be named anew (nil: all are). How firm each place is has not been asked
// yet, and Confidence is 1 throughout; see Judge.
func (s *Session) ByHand(labels []int, k int, names []string) *Grouping {
	g := &Grouping{Labels: labels, Pairs: k, Names: names, RunnerUp: make([]int, len(labels)), Confidence: make([]float64, len(labels))}
	centres := s.Centres(labels, k)
	for p := range labels {
		if g.RunnerUp[p] = s.RunnerUp(p, labels[p], centres); g.RunnerUp[p] >= 0 && s.unthinkable(p, labels, g.RunnerUp[p]) {
			g.RunnerUp[p] = -1
		}
		g.Confidence[p] = 1
	}
	return g
}

// Judge sets the confidence of a grouping to the probability that each track is in place by the company it keeps; see
// Astray.
func (s *Session) Judge(g *Grouping) {
	for p, v := range s.Astray(g.Labels, g.Pairs) {
		g.Confidence[p] = math.Max(0, 1-v.Stray)
	}
	s.decided(g.Confidence)
}

// Shrink takes pairs away from a fold until k are left, each time by joining the two whose union spreads least; free
// pairs go first. kept tells of each pair whether it has to stay as it is (nil: none). labels holds the pair of each live
// track. What comes back is labels on the pairs that are left, in their old order, and which pair each of those was; a
// joined pair stands where the earlier one stood. It is an error if fewer than k pairs may go.
func (s *Session) Shrink(labels []int, pairs, k int, kept []bool) (shrunk, was []int, err error) {
	if k < 1 || k > pairs {
		return nil, nil, fmt.Errorf("%d pairs cannot be left of %d", k, pairs)
	}
	labels = slices.Clone(labels)
	for q := range pairs {
		was = append(was, q)
	}
	stays := func(q int) bool { return q < len(kept) && kept[q] }
	for len(was) > k {
		out := slices.IndexFunc(was, func(q int) bool { return !slices.Contains(labels, q) && !stays(q) })
		if out < 0 {
			into, from, err := s.nearest(labels, was, stays)
			if err != nil {
				return nil, nil, err
			}
			for p, l := range labels {
				if l == from {
					labels[p] = into
				}
			}
			out = slices.Index(was, from)
		}
		was = slices.Delete(was, out, out+1)
	}
	for p, l := range labels {
		labels[p] = slices.Index(was, l)
	}
	return labels, was, nil
}

// nearest finds the two pairs whose union spreads least.
func (s *Session) nearest(labels, pairs []int, stays func(int) bool) (into, from int, err error) {
	best := math.Inf(1)
	for i, a := range pairs {
		for _, b := range pairs[i+1:] {
			if stays(a) || stays(b) {
				continue
			}
			trial := slices.Clone(labels)
			for p, l := range trial {
				if l == b {
					trial[p] = a
				}
			}
			spread, err := s.Spread(trial)
			if err != nil {
				return 0, 0, err
			}
			if spread < best {
				best, into, from = spread, a, b
			}
		}
	}
	if math.IsInf(best, 1) {
		return 0, 0, fmt.Errorf("no two pairs may be joined: %d of %d have to stay as they are", len(pairs), len(pairs))
	}
	return into, from, nil
}

// Weigh says which measures speak for the pair that live track p is on in a grouping, and which for another pair, the
// strongest first; names are those of the pairs.
func (s *Session) Weigh(g *Grouping, p, other int, names []string) (here, there []sheet.Reason) {
	centres := s.Centres(g.Labels, g.Pairs)
	turned := slices.Clone(g.Labels)
	turned[p] = other
	return s.distanceReasons(g.Labels, p, other, names, centres), s.distanceReasons(turned, p, g.Labels[p], names, centres)
}
