package cluster

import (
	"gonum.org/v1/gonum/mat"
)

// WithinSS returns the weighted sum of squared distances of the rows of x
// (n x d) from the weighted mean of the rows with the same label; nil weights
// are 1 each. Labels may be any integers. O(nd).
func WithinSS(x mat.Matrix, labels []int, weights []float64) (float64, error) {
	p, w, err := weighted(x, labels, weights)
	if err != nil {
		return 0, err
	}
	return p.within(w), nil
}

func weighted(x mat.Matrix, labels []int, weights []float64) (*partition, []float64, error) {
	p, err := newPartition(x, labels)
	if err != nil {
		return nil, nil, err
	}
	if err := checkWeights(len(p.rows), weights); err != nil {
		return nil, nil, err
	}
	if weights == nil {
		weights = ones(len(p.rows))
	}
	return p, weights, nil
}

func (p *partition) within(w []float64) float64 {
	var sum float64
	for g, mean := range weightedMeans(p.rows, w, p.groups) {
		for _, i := range p.groups[g] {
			sum += w[i] * squaredDistance(p.rows[i], mean)
		}
	}
	return sum
}
