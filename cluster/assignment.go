package cluster

import (
	"fmt"
	"math"

	"gonum.org/v1/gonum/mat"
)

// Assign solves the assignment problem: it returns for each row of cost (r x c,
// r <= c, finite) a column of its own such that the sum of the costs is least,
// and that sum. Hungarian method with potentials (Kuhn, Nav. Res. Logist. Q. 2,
// 1955; Munkres, J. SIAM 5, 1957). O(r^2 c).
func Assign(cost mat.Matrix) (columns []int, total float64, err error) {
	r, c := cost.Dims()
	if r > c {
		return nil, 0, fmt.Errorf("cluster: assignment of %d rows to %d columns, want no more rows than columns", r, c)
	}
	for i := range r {
		for j := range c {
			if v := cost.At(i, j); math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, 0, fmt.Errorf("cluster: assignment cost (%d, %d) is %v, want a finite number", i, j, v)
			}
		}
	}
	// Rows and columns count from 1; 0 is the root of each search for an
	// augmenting path.
	rowPot, colPot := make([]float64, r+1), make([]float64, c+1)
	rowOf, from := make([]int, c+1), make([]int, c+1)
	slack, seen := make([]float64, c+1), make([]bool, c+1)
	for i := 1; i <= r; i++ {
		for j := range slack {
			slack[j], seen[j] = math.Inf(1), false
		}
		rowOf[0] = i
		at := 0
		for rowOf[at] != 0 {
			seen[at] = true
			row, step, next := rowOf[at], math.Inf(1), 0
			for j := 1; j <= c; j++ {
				if seen[j] {
					continue
				}
				if v := cost.At(row-1, j-1) - rowPot[row] - colPot[j]; v < slack[j] {
					slack[j], from[j] = v, at
				}
				if slack[j] < step {
					step, next = slack[j], j
				}
			}
			for j := range slack {
				if seen[j] {
					rowPot[rowOf[j]] += step
					colPot[j] -= step
				} else {
					slack[j] -= step
				}
			}
			at = next
		}
		for at != 0 {
			rowOf[at] = rowOf[from[at]]
			at = from[at]
		}
	}
	columns = make([]int, r)
	for j := 1; j <= c; j++ {
		if i := rowOf[j]; i > 0 {
			columns[i-1] = j - 1
			total += cost.At(i-1, j-1)
		}
	}
	return columns, total, nil
}

// MatchLabels returns the renaming of the labels of one partition under which
// it agrees with a reference on as many of the n observations as possible:
// rename[labels[i]] is to be compared with reference[i]. Among equals it keeps
// as many labels as they are. Both slices hold labels >= 0; rename has one
// entry for each label up to the greatest of either. O(n + k^3).
func MatchLabels(reference, labels []int) (rename []int, err error) {
	if len(reference) != len(labels) {
		return nil, fmt.Errorf("cluster: labellings of %d and %d observations", len(reference), len(labels))
	}
	k := 0
	for i := range labels {
		if labels[i] < 0 || reference[i] < 0 {
			return nil, fmt.Errorf("cluster: negative label at observation %d", i)
		}
		k = max(k, labels[i]+1, reference[i]+1)
	}
	if k == 0 {
		return []int{}, nil
	}
	cost := mat.NewDense(k, k, nil)
	for c := range k {
		cost.Set(c, c, -1) // less than one agreement in all
	}
	for i := range labels {
		at := &cost.RawMatrix().Data[labels[i]*k+reference[i]]
		*at -= float64(k + 1)
	}
	rename, _, err = Assign(cost)
	return rename, err
}
