package cluster

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Merge is one step of a Hierarchy.
type Merge struct {
	// A and B are the nodes merged: leaves count from 0, the node made by
	// merge s is len(Leaves) + s.
	A, B int
	// Increase is what the merge adds to the within-cluster sum of squares,
	// >= 0 and never less than that of the merge before.
	Increase float64
	// Size is the number of observations in the new node.
	Size int
}

// Hierarchy is a binary tree of merges of n observations.
type Hierarchy struct {
	// Leaves holds the observations of each leaf: a must-link group, or one
	// observation.
	Leaves [][]int
	// Merges holds the len(Leaves)-1 merges, cheapest first.
	Merges []Merge
	n      int
}

// Ward builds the hierarchy of the rows of x (n x d) in which every step merges
// the two nodes that add least to the weighted within-cluster sum of squares
// (Ward, J. Am. Stat. Assoc. 58, 1963), by the update of Lance and Williams
// (Comput. J. 9, 1967) on squared distances. Must-linked observations form one
// leaf from the start; nil weights are 1 each. The tree does not depend on the
// order of the rows, except that equal rows are told apart by it.
//
// Programs that report a height for Ward's method usually print
// sqrt(2 x Increase).
//
// O(m^2) memory and, but for unlucky data, O(m^2) time after the O(m^2 d) of
// the distances between m leaves.
func Ward(x mat.Matrix, weights []float64, mustLink [][]int) (*Hierarchy, error) {
	p, err := newProblem(x, 1, Options{Weights: weights, MustLink: mustLink})
	if err != nil {
		return nil, err
	}
	h := &Hierarchy{Leaves: p.members, n: len(p.rows)}
	w := &linkage{
		cost:   make([]float64, p.m*p.m),
		weight: slices.Clone(p.weight),
		size:   slices.Clone(p.size),
		node:   make([]int, p.m),
		near:   make([]int, p.m),
		m:      p.m,
	}
	for i := range p.m {
		w.node[i] = i
		w.alive = append(w.alive, i)
		for j := range p.m {
			w.cost[i*p.m+j] = p.dist[i*p.m+j] * p.weight[i] * p.weight[j] / (p.weight[i] + p.weight[j])
		}
	}
	for _, i := range w.alive {
		w.findNearest(i)
	}
	last := 0.0
	for len(w.alive) > 1 {
		merge := w.step(p.m + len(h.Merges))
		merge.Increase = max(merge.Increase, last) // rounding must not undo the order
		last = merge.Increase
		h.Merges = append(h.Merges, merge)
	}
	return h, nil
}

// linkage is the state of the merging: slot i of the matrix holds node[i].
type linkage struct {
	m      int
	cost   []float64 // m x m increase on merging two slots
	weight []float64
	size   []int
	node   []int
	alive  []int // slots in use, ascending
	near   []int // the slot each slot would best merge with
}

func (w *linkage) findNearest(i int) {
	best := -1
	for _, j := range w.alive {
		if j != i && (best < 0 || w.cost[i*w.m+j] < w.cost[i*w.m+best]) {
			best = j
		}
	}
	w.near[i] = best
}

// step merges the cheapest pair into the lower slot.
func (w *linkage) step(node int) Merge {
	m := w.m
	a := slices.MinFunc(w.alive, func(i, j int) int {
		return cmp.Compare(w.cost[i*m+w.near[i]], w.cost[j*m+w.near[j]])
	})
	a, b := min(a, w.near[a]), max(a, w.near[a])
	merge := Merge{
		A: min(w.node[a], w.node[b]), B: max(w.node[a], w.node[b]),
		Increase: w.cost[a*m+b], Size: w.size[a] + w.size[b],
	}
	at, _ := slices.BinarySearch(w.alive, b)
	w.alive = slices.Delete(w.alive, at, at+1)
	wa, wb, ab := w.weight[a], w.weight[b], w.cost[a*m+b]
	for _, j := range w.alive {
		if j == a {
			continue
		}
		wj := w.weight[j]
		v := ((wa+wj)*w.cost[a*m+j] + (wb+wj)*w.cost[b*m+j] - wj*ab) / (wa + wb + wj)
		w.cost[a*m+j], w.cost[j*m+a] = v, v
	}
	w.weight[a] += wb
	w.size[a] += w.size[b]
	w.node[a] = node
	if len(w.alive) == 1 {
		return merge
	}
	w.findNearest(a)
	for _, j := range w.alive {
		switch {
		case j == a:
		case w.near[j] == a || w.near[j] == b:
			w.findNearest(j)
		case w.cost[j*m+a] < w.cost[j*m+w.near[j]]:
			w.near[j] = a
		}
	}
	return merge
}

// Cut returns the labels 0..k-1 of the n observations when the tree is cut into
// k clusters, numbered by their first leaf. Leaves are in order of content, so
// the numbers do not depend on the order of the rows. It is an error if k is
// not in 1..len(Leaves). O(n).
func (h *Hierarchy) Cut(k int) ([]int, error) {
	if k < 1 || k > len(h.Leaves) {
		return nil, fmt.Errorf("cluster: cut into %d clusters of a tree of %d leaves", k, len(h.Leaves))
	}
	return h.labels(len(h.Leaves) - k), nil
}

// CutAt returns the labels after all merges that each add no more than increase
// to the within-cluster sum of squares, numbered as by Cut. NaN counts as 0.
func (h *Hierarchy) CutAt(increase float64) []int {
	if math.IsNaN(increase) {
		increase = 0
	}
	done := 0
	for done < len(h.Merges) && h.Merges[done].Increase <= increase {
		done++
	}
	return h.labels(done)
}

// labels numbers the clusters after the given number of merges.
func (h *Hierarchy) labels(merges int) []int {
	m := len(h.Leaves)
	root := make([]int, m+merges)
	for i := range root {
		root[i] = i
	}
	// From the last merge down, so that each node knows its root in turn.
	for s := merges - 1; s >= 0; s-- {
		root[h.Merges[s].A], root[h.Merges[s].B] = root[m+s], root[m+s]
	}
	labels := make([]int, h.n)
	number := make(map[int]int)
	for leaf, obs := range h.Leaves {
		c, ok := number[root[leaf]]
		if !ok {
			c = len(number)
			number[root[leaf]] = c
		}
		for _, i := range obs {
			labels[i] = c
		}
	}
	return labels
}
