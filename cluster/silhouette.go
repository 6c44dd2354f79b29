package cluster

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Silhouettes tell for each of n observations how well it lies in its cluster.
type Silhouettes struct {
	// Widths holds s = (b - a)/max(a, b) in -1..1, where a is the mean
	// dissimilarity to the others of the same cluster and b that to the nearest
	// other cluster. It is 0 for an observation alone in its cluster, where
	// a = b = 0, and throughout when there is only one cluster.
	Widths []float64
	// Neighbors holds the label of that nearest other cluster, or -1 when there
	// is only one cluster; the lesser label if two are equally near.
	Neighbors []int
	// Mean is the mean of the widths.
	Mean float64
}

// Silhouette returns the silhouettes of a partition of the rows of x (n x d) by
// their Euclidean distances (Rousseeuw, J. Comput. Appl. Math. 20, 1987).
// Labels may be any integers >= 0. O(n^2 d) time, O(n) memory.
func Silhouette(x mat.Matrix, labels []int) (*Silhouettes, error) {
	rows, err := rowsOf(x)
	if err != nil {
		return nil, err
	}
	return silhouettes(len(rows), labels, func(i, j int) float64 {
		return math.Sqrt(squaredDistance(rows[i], rows[j]))
	})
}

func silhouettes(n int, labels []int, between func(i, j int) float64) (*Silhouettes, error) {
	if len(labels) != n {
		return nil, fmt.Errorf("cluster: %d labels for %d observations", len(labels), n)
	}
	for i, l := range labels {
		if l < 0 {
			return nil, fmt.Errorf("cluster: label of observation %d is %d, want >= 0", i, l)
		}
	}
	distinct, groups, of := groupLabels(labels)
	s := &Silhouettes{Widths: make([]float64, n), Neighbors: make([]int, n)}
	sums := make([]float64, len(groups))
	for i := range n {
		clear(sums)
		for j := range n {
			if j != i {
				sums[of[j]] += between(i, j)
			}
		}
		own := of[i]
		b := math.Inf(1)
		s.Neighbors[i] = -1
		for g, sum := range sums {
			if mean := sum / float64(len(groups[g])); g != own && mean < b {
				b, s.Neighbors[i] = mean, distinct[g]
			}
		}
		if len(groups[own]) == 1 || len(groups) == 1 {
			continue
		}
		a := sums[own] / float64(len(groups[own])-1)
		if top := max(a, b); top > 0 {
			s.Widths[i] = (b - a) / top
		}
		s.Mean += s.Widths[i] / float64(n)
	}
	return s, nil
}
