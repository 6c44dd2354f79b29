package cluster

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// problem is a k-means problem in canonical form: must-linked observations
// merged to m weighted points, in an order that depends on their content only.
type problem struct {
	k, m    int
	rows    [][]float64 // the n original rows
	obsW    []float64   // their weights
	members [][]int     // observations of each point
	weight  []float64   // weight of each point
	load    []float64   // load of each point
	size    []int       // observations in each point
	pin     []int       // cluster of each point, or -1
	dist    []float64   // m x m squared distances between the points
	pins    *state      // the pinned points alone; nil if there are none
	apart   []bool      // m x m cannot-link; nil if there is none
	degree  []int       // cannot-link partners of each point
	minSize int
	maxSize int
	caps    []float64 // per cluster; nil if there are none
	coupled bool      // whether the place of one point limits that of others
	tol     float64   // changes of the objective below this are rounding
}

func newProblem(x mat.Matrix, k int, opt Options) (*problem, error) {
	rows, err := rowsOf(x)
	if err != nil {
		return nil, err
	}
	if err := checkOptions(len(rows), k, opt); err != nil {
		return nil, err
	}
	p := &problem{k: k, rows: rows, obsW: opt.Weights, minSize: opt.MinSize, maxSize: opt.MaxSize, caps: opt.Caps}
	if p.obsW == nil {
		p.obsW = ones(len(rows))
	}
	if p.maxSize == 0 {
		p.maxSize = len(rows)
	}
	if err := p.merge(opt); err != nil {
		return nil, err
	}
	if err := p.separate(opt.CannotLink); err != nil {
		return nil, err
	}
	p.coupled = p.apart != nil || p.minSize > 0 || p.maxSize < len(rows) || p.caps != nil
	if len(opt.Pin) > 0 {
		p.pins = newState(p)
		p.pins.reset(p.pin)
	}
	return p, p.checkCaps()
}

func ones(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 1
	}
	return w
}

func checkOptions(n, k int, opt Options) error {
	inRange := func(i int) bool { return 0 <= i && i < n }
	switch {
	case k < 1:
		return fmt.Errorf("cluster: k = %d, want at least 1", k)
	case opt.MinSize < 0 || opt.MaxSize < 0 || opt.Restarts < 0 || opt.MaxIterations < 0:
		return fmt.Errorf("cluster: negative MinSize, MaxSize, Restarts or MaxIterations")
	case opt.MaxSize > 0 && opt.MinSize > opt.MaxSize:
		return fmt.Errorf("cluster: MinSize %d exceeds MaxSize %d", opt.MinSize, opt.MaxSize)
	case (opt.Loads == nil) != (opt.Caps == nil):
		return fmt.Errorf("cluster: Loads and Caps are given together or not at all")
	case opt.Caps != nil && len(opt.Caps) != k:
		return fmt.Errorf("cluster: %d caps for %d clusters", len(opt.Caps), k)
	}
	if err := checkWeights(n, opt.Weights); err != nil {
		return err
	}
	if opt.Loads != nil && len(opt.Loads) != n {
		return fmt.Errorf("cluster: %d loads for %d observations", len(opt.Loads), n)
	}
	for i, l := range opt.Loads {
		if !(l >= 0) || math.IsInf(l, 1) {
			return fmt.Errorf("cluster: load of observation %d is %v, want a finite number >= 0", i, l)
		}
	}
	for c, v := range opt.Caps {
		if !(v >= 0) {
			return fmt.Errorf("cluster: cap of cluster %d is %v, want a number >= 0", c, v)
		}
	}
	for g, group := range opt.MustLink {
		for _, i := range group {
			if !inRange(i) {
				return fmt.Errorf("cluster: must-link group %d names observation %d of %d", g, i, n)
			}
		}
	}
	for _, pair := range opt.CannotLink {
		if !inRange(pair[0]) || !inRange(pair[1]) {
			return fmt.Errorf("cluster: cannot-link pair %v outside the %d observations", pair, n)
		}
	}
	for i, c := range opt.Pin {
		if !inRange(i) || c < 0 || c >= k {
			return fmt.Errorf("cluster: pin of observation %d to cluster %d outside %d observations, %d clusters", i, c, n, k)
		}
	}
	return nil
}

// checkWeights accepts nil or n finite weights > 0.
func checkWeights(n int, w []float64) error {
	if w != nil && len(w) != n {
		return fmt.Errorf("cluster: %d weights for %d observations", len(w), n)
	}
	for i, v := range w {
		if !(v > 0) || math.IsInf(v, 1) {
			return fmt.Errorf("cluster: weight of observation %d is %v, want a finite number > 0", i, v)
		}
	}
	return nil
}

// canonicalOrder sorts the observations by content, then weight, load and pin.
func canonicalOrder(rows [][]float64, w, loads []float64, pin map[int]int) []int {
	order := make([]int, len(rows))
	for i := range order {
		order[i] = i
	}
	pinned := func(i int) int {
		if c, ok := pin[i]; ok {
			return c
		}
		return -1
	}
	slices.SortStableFunc(order, func(a, b int) int {
		if c := slices.Compare(rows[a], rows[b]); c != 0 {
			return c
		}
		if c := cmp.Compare(w[a], w[b]); c != 0 {
			return c
		}
		if loads != nil {
			if c := cmp.Compare(loads[a], loads[b]); c != 0 {
				return c
			}
		}
		return cmp.Compare(pinned(a), pinned(b))
	})
	return order
}

// linkGroups returns the connected components of the must-link groups over the
// given order of observations, members and components in that order.
func linkGroups(order []int, mustLink [][]int) [][]int {
	parent := make([]int, len(order))
	for i := range parent {
		parent[i] = i
	}
	find := func(i int) int {
		for parent[i] != i {
			parent[i] = parent[parent[i]]
			i = parent[i]
		}
		return i
	}
	for _, g := range mustLink {
		for _, i := range g {
			parent[find(i)] = find(g[0])
		}
	}
	var groups [][]int
	place := make(map[int]int)
	for _, i := range order {
		root := find(i)
		at, ok := place[root]
		if !ok {
			at = len(groups)
			place[root] = at
			groups = append(groups, nil)
		}
		groups[at] = append(groups[at], i)
	}
	return groups
}

// merge makes the points and the distances between them.
func (p *problem) merge(opt Options) error {
	p.members = linkGroups(canonicalOrder(p.rows, p.obsW, opt.Loads, opt.Pin), opt.MustLink)
	p.m = len(p.members)
	p.weight = make([]float64, p.m)
	p.load = make([]float64, p.m)
	p.size = make([]int, p.m)
	p.pin = make([]int, p.m)
	p.degree = make([]int, p.m)
	for g, group := range p.members {
		p.size[g], p.pin[g] = len(group), -1
		for _, i := range group {
			p.weight[g] += p.obsW[i]
			if opt.Loads != nil {
				p.load[g] += opt.Loads[i]
			}
			c, ok := opt.Pin[i]
			if !ok {
				continue
			}
			if p.pin[g] >= 0 && p.pin[g] != c {
				return infeasible(group, "a must-link group is pinned to clusters %d and %d", min(c, p.pin[g]), max(c, p.pin[g]))
			}
			p.pin[g] = c
		}
	}
	means := weightedMeans(p.rows, p.obsW, p.members)
	p.dist = make([]float64, p.m*p.m)
	var pairs, total float64
	for i := range p.m {
		total += p.weight[i]
		for j := range i {
			v := squaredDistance(means[i], means[j])
			p.dist[i*p.m+j], p.dist[j*p.m+i] = v, v
			pairs += p.weight[i] * p.weight[j] * v
		}
	}
	if math.IsInf(pairs, 1) || math.IsNaN(pairs) || math.IsInf(total, 1) {
		return fmt.Errorf("cluster: squared distances overflow; scale the columns or weights down")
	}
	p.tol = 1e-12 * pairs / total
	return nil
}

// weightedMeans returns the weighted mean of each non-empty group of rows.
func weightedMeans(rows [][]float64, w []float64, groups [][]int) [][]float64 {
	means := make([][]float64, len(groups))
	for g, group := range groups {
		if len(group) == 0 {
			continue
		}
		// Offsets from the first member, so that equal rows have exactly
		// their own value as mean.
		first, sum := rows[group[0]], 0.0
		mean := make([]float64, len(first))
		for _, i := range group {
			sum += w[i]
			for j, v := range rows[i] {
				mean[j] += w[i] * (v - first[j])
			}
		}
		for j := range mean {
			mean[j] = first[j] + mean[j]/sum
		}
		means[g] = mean
	}
	return means
}

func squaredDistance(a, b []float64) float64 {
	var sum float64
	for j, v := range a {
		e := v - b[j]
		sum += e * e
	}
	return sum
}
