package cluster

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Figures of merit that only the comparison with published partitions needs.

// TotalSS returns the weighted sum of squared distances of the rows of x
// (n x d) from their weighted mean; nil weights are 1 each. It equals WithinSS
// plus BetweenSS for every partition. O(nd).
func TotalSS(x mat.Matrix, weights []float64) (float64, error) {
	n, _ := x.Dims()
	return WithinSS(x, make([]int, n), weights)
}

// BetweenSS returns the sum over the labels of the weight of their rows times
// the squared distance of their mean from the mean of all; arguments as for
// WithinSS. It is 0 for a single label. O(nd).
func BetweenSS(x mat.Matrix, labels []int, weights []float64) (float64, error) {
	p, w, err := weighted(x, labels, weights)
	if err != nil {
		return 0, err
	}
	return p.between(w), nil
}

func (p *partition) between(w []float64) float64 {
	all := make([]int, len(p.rows))
	for i := range all {
		all[i] = i
	}
	center := weightedMeans(p.rows, w, [][]int{all})[0]
	var sum float64
	for g, mean := range weightedMeans(p.rows, w, p.groups) {
		for _, i := range p.groups[g] {
			sum += w[i] * squaredDistance(mean, center)
		}
	}
	return sum
}

// CalinskiHarabasz returns the variance ratio (B/(k-1)) / (W/(n-k)) of a
// partition of the rows of x (n x d) into k labels, with B and W the sums of
// squares between and within (Calinski and Harabasz, Commun. Stat. 3, 1974).
// Greater is better. It is NaN unless 2 <= k <= n-1, and +Inf if W is 0 but B
// is not. O(nd).
func CalinskiHarabasz(x mat.Matrix, labels []int) (float64, error) {
	p, w, err := weighted(x, labels, nil)
	if err != nil {
		return 0, err
	}
	n, k := float64(len(p.rows)), float64(len(p.groups))
	if k < 2 || k >= n {
		return math.NaN(), nil
	}
	return (p.between(w) / (k - 1)) / (p.within(w) / (n - k)), nil
}

// DaviesBouldin returns the mean over the labels of the worst ratio
// (s_i + s_j) / d_ij to another label, where s is the mean distance of the rows
// from the mean of their label and d the distance between two such means
// (Davies and Bouldin, IEEE Trans. Pattern Anal. 1, 1979, with p = 2, q = 1).
// Smaller is better; 0 is the least. x is n x d. It is NaN for fewer than two
// labels, and +Inf if two means coincide where rows scatter. O(nd + k^2 d).
func DaviesBouldin(x mat.Matrix, labels []int) (float64, error) {
	p, w, err := weighted(x, labels, nil)
	if err != nil {
		return 0, err
	}
	k := len(p.groups)
	if k < 2 {
		return math.NaN(), nil
	}
	means := weightedMeans(p.rows, w, p.groups)
	scatter := make([]float64, k)
	for g, group := range p.groups {
		for _, i := range group {
			scatter[g] += math.Sqrt(squaredDistance(p.rows[i], means[g]))
		}
		scatter[g] /= float64(len(group))
	}
	var sum float64
	for a := range k {
		worst := 0.0
		for b := range k {
			if s := scatter[a] + scatter[b]; b != a && s > 0 {
				worst = max(worst, s/math.Sqrt(squaredDistance(means[a], means[b])))
			}
		}
		sum += worst
	}
	return sum / float64(k), nil
}

// SilhouetteFrom returns the silhouettes of a partition of n observations given
// their dissimilarities: n x n, symmetric, finite, >= 0; the diagonal is not
// read. Labels may be any integers >= 0. O(n^2).
func SilhouetteFrom(dissimilarity mat.Matrix, labels []int) (*Silhouettes, error) {
	n, c := dissimilarity.Dims()
	if n == 0 {
		return nil, ErrEmpty
	}
	if n != c {
		return nil, fmt.Errorf("cluster: dissimilarities are %d x %d, want a square", n, c)
	}
	for i := range n {
		for j := range i {
			v := dissimilarity.At(i, j)
			if !(v >= 0) || math.IsInf(v, 1) || v != dissimilarity.At(j, i) {
				return nil, fmt.Errorf("cluster: dissimilarity of observations %d and %d is %v one way and %v the other, want one finite number >= 0",
					i, j, v, dissimilarity.At(j, i))
			}
		}
	}
	return silhouettes(n, labels, dissimilarity.At)
}
