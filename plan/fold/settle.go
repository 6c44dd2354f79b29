package fold

import "math"

// Settle gives each live track without a pair (label -1) one of k pairs: that of the tracks it is tied to, else the one
// whose centre is nearest. The others stay. At least one track must have a pair.
func (s *Session) Settle(labels []int, k int) {
	centres := s.Centres(labels, k)
	used := make([]bool, k)
	for _, l := range labels {
		if l >= 0 {
			used[l] = true
		}
	}
	for _, unit := range s.units {
		for _, p := range unit {
			if l := labels[p]; l >= 0 {
				for _, q := range unit {
					if labels[q] < 0 {
						labels[q] = l
					}
				}
				break
			}
		}
	}
	for p, l := range labels {
		if l >= 0 {
			continue
		}
		best := math.Inf(1)
		for q := range k {
			if d := s.Distance(p, centres.RawRowView(q)); used[q] && d < best {
				best, labels[p] = d, q
			}
		}
	}
}
