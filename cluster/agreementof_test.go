package cluster

import (
	"fmt"
	"math"
)

// contingency counts the observations of two labellings of the same n >= 1
// observations: per pair of labels, per label of a, per label of b.
func contingency(a, b []int) (cells map[[2]int]float64, rows, cols map[int]float64, err error) {
	if len(a) != len(b) {
		return nil, nil, nil, fmt.Errorf("cluster: labellings of %d and %d observations", len(a), len(b))
	}
	if len(a) == 0 {
		return nil, nil, nil, ErrEmpty
	}
	cells, rows, cols = map[[2]int]float64{}, map[int]float64{}, map[int]float64{}
	for i := range a {
		cells[[2]int{a[i], b[i]}]++
		rows[a[i]]++
		cols[b[i]]++
	}
	return cells, rows, cols, nil
}

// pairs returns the number of pairs within the counted sets: exact, and so
// independent of the order of the map, for up to 2^26 observations.
func pairs[K comparable](counts map[K]float64) float64 {
	var sum float64
	for _, n := range counts {
		sum += n * (n - 1) / 2
	}
	return sum
}

// Rand returns the share of the pairs of observations on which two labellings
// agree: together in both or apart in both (Rand, J. Am. Stat. Assoc. 66,
// 1971). 0..1; 1 for a single observation. O(n).
func Rand(a, b []int) (float64, error) {
	cells, rows, cols, err := contingency(a, b)
	if err != nil {
		return 0, err
	}
	n := float64(len(a))
	all := n * (n - 1) / 2
	if all == 0 {
		return 1, nil
	}
	return (all + 2*pairs(cells) - pairs(rows) - pairs(cols)) / all, nil
}

// AdjustedRand returns the Rand index corrected for chance,
// (S - AB/C) / ((A+B)/2 - AB/C) with S, A, B, C the pairs together in both
// labellings, in a, in b, and in all (Hubert and Arabie, J. Classif. 2, 1985).
// 1 for equal partitions, 0 on average for unrelated ones, -0.5 at least. Two
// labellings that both put all together or all apart are equal: 1. O(n).
func AdjustedRand(a, b []int) (float64, error) {
	cells, rows, cols, err := contingency(a, b)
	if err != nil {
		return 0, err
	}
	n := float64(len(a))
	all := n * (n - 1) / 2
	sa, sb := pairs(rows), pairs(cols)
	if sa == sb && (sa == 0 || sa == all) {
		return 1, nil
	}
	chance := sa * sb / all
	return (pairs(cells) - chance) / ((sa+sb)/2 - chance), nil
}

// NMI returns the mutual information of two labellings over the arithmetic mean
// of their entropies, 0..1 (Strehl and Ghosh, J. Mach. Learn. Res. 3, 2002, who
// take the geometric mean). 1 if both have a single label. O(n).
func NMI(a, b []int) (float64, error) {
	cells, rows, cols, err := contingency(a, b)
	if err != nil {
		return 0, err
	}
	n := float64(len(a))
	ha, hb := entropy(rows, n), entropy(cols, n)
	if ha+hb == 0 {
		return 1, nil
	}
	joint := entropy(cells, n)
	return max(0, 2*(ha+hb-joint)/(ha+hb)), nil
}

// entropy sums in the order of the counts, not of the map, to be reproducible.
func entropy[K comparable](counts map[K]float64, n float64) float64 {
	times := make(map[int]int)
	for _, c := range counts {
		times[int(c)]++
	}
	var h float64
	for c := 1; c <= int(n); c++ {
		if m := times[c]; m > 0 {
			p := float64(c) / n
			h -= float64(m) * p * math.Log(p)
		}
	}
	return h
}
