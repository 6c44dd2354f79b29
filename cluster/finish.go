package cluster

import (
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// result measures a labelling of the points on the original rows.
func (p *problem) result(label []int, r run) *Result {
	groups := make([][]int, p.k)
	pinned := make([]bool, p.k)
	for g, c := range label {
		groups[c] = append(groups[c], p.members[g]...)
		pinned[c] = pinned[c] || p.pin[g] >= 0
	}
	groups = p.canonicalClusters(groups, pinned)
	d := len(p.rows[0])
	res := &Result{
		Labels:     make([]int, len(p.rows)),
		Centers:    mat.NewDense(p.k, d, nil),
		Sizes:      make([]int, p.k),
		Parts:      make([]float64, p.k),
		Iterations: r.sweeps,
		Converged:  r.converged,
	}
	for c, mean := range weightedMeans(p.rows, p.obsW, groups) {
		res.Sizes[c] = len(groups[c])
		if mean == nil {
			mean = slices.Repeat([]float64{math.NaN()}, d)
		} else {
			res.Used++
		}
		res.Centers.SetRow(c, mean)
		for _, i := range groups[c] {
			res.Labels[i] = c
			res.Parts[c] += p.obsW[i] * squaredDistance(p.rows[i], mean)
		}
		res.WithinSS += res.Parts[c]
	}
	return res
}

// canonicalClusters puts the clusters that nothing tells apart in
// lexicographic order of their means, empty ones last.
func (p *problem) canonicalClusters(groups [][]int, pinned []bool) [][]int {
	means := weightedMeans(p.rows, p.obsW, groups)
	out := slices.Clone(groups)
	done := slices.Clone(pinned)
	for c := range groups {
		if done[c] {
			continue
		}
		var slots []int
		for e := c; e < p.k; e++ {
			if !done[e] && p.alike(c, e) {
				slots = append(slots, e)
				done[e] = true
			}
		}
		sorted := slices.Clone(slots)
		slices.SortStableFunc(sorted, func(a, b int) int {
			switch {
			case means[a] == nil || means[b] == nil:
				return len(means[b]) - len(means[a])
			default:
				return slices.Compare(means[a], means[b])
			}
		})
		for n, slot := range slots {
			out[slot] = groups[sorted[n]]
		}
	}
	return out
}
