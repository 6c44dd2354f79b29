package dynamics

import "math"

// spread collects values and gives their median in constant memory: bins of a third of a semitone (2 %) hold count
// and sum, and the median is the mean of the bin it falls into.
type spread struct {
	count [spreadBins]int64
	sum   [spreadBins]float64
	total int64
}

const (
	spreadBins   = 640
	spreadPerOct = 36.0
	spreadLowest = 1e-4
)

// add takes a positive value; values outside 1e-4 .. 2e1 count in the outermost bins.
func (s *spread) add(v float64) {
	b := int(min(max(spreadPerOct*math.Log2(v/spreadLowest), 0), spreadBins-1))
	s.count[b]++
	s.sum[b] += v
	s.total++
}

// median is 0 without values.
func (s *spread) median() float64 {
	n := int64(0)
	for b, c := range s.count {
		n += c
		if c > 0 && 2*n >= s.total {
			return s.sum[b] / float64(c)
		}
	}
	return 0
}
