package cluster

import "gonum.org/v1/gonum/floats"

// state is a labelling of the points of a problem with all sums needed to tell
// the exact change of the objective in O(1).
//
// With D the squared distances and w the weights, a cluster c of weight W has
// the sum of squares S/W, where S is the sum of w_i w_j D_ij over its pairs; so
// it is enough to keep S, W and t(c, i), the sum of w_j D_ij over the j in c.
type state struct {
	p      *problem
	label  []int // -1: not placed
	t      []float64
	s, w   []float64
	ss     []float64 // sum of squares of each cluster, S/W
	points []int     // points in each cluster
	size   []int     // observations in each cluster
	load   []float64
	clash  []int // k x m: cannot-link partners of each point in each cluster; nil if none
}

func newState(p *problem) *state {
	st := &state{
		p:      p,
		label:  make([]int, p.m),
		t:      make([]float64, p.k*p.m),
		s:      make([]float64, p.k),
		w:      make([]float64, p.k),
		ss:     make([]float64, p.k),
		points: make([]int, p.k),
		size:   make([]int, p.k),
		load:   make([]float64, p.k),
	}
	if p.apart != nil {
		st.clash = make([]int, p.k*p.m)
	}
	return st
}

// reset places the points as labels say, from fresh sums.
func (st *state) reset(labels []int) {
	clear(st.t)
	clear(st.s)
	clear(st.w)
	clear(st.ss)
	clear(st.points)
	clear(st.size)
	clear(st.load)
	clear(st.clash)
	for i, c := range labels {
		st.label[i] = -1
		if c >= 0 {
			st.place(i, c)
		}
	}
}

func (st *state) place(i, c int) { st.shift(i, c, 1) }

func (st *state) take(i int) { st.shift(i, st.label[i], -1) }

// shift puts point i into cluster c (sign 1) or takes it out (sign -1).
func (st *state) shift(i, c, sign int) {
	p, f := st.p, float64(sign)
	row := st.t[c*p.m : (c+1)*p.m]
	st.s[c] += f * p.weight[i] * row[i]
	st.w[c] += f * p.weight[i]
	st.points[c] += sign
	st.size[c] += sign * p.size[i]
	st.load[c] += f * p.load[i]
	switch {
	case st.points[c] == 0:
		clear(row)
		st.s[c], st.w[c], st.ss[c], st.load[c] = 0, 0, 0, 0
	case p.dist != nil:
		st.ss[c] = st.s[c] / st.w[c]
		floats.AddScaled(row, f*p.weight[i], p.dist[i*p.m:(i+1)*p.m])
	}
	if p.apart != nil {
		clash := st.clash[c*p.m : (c+1)*p.m]
		for j, a := range p.apart[i*p.m : (i+1)*p.m] {
			if a {
				clash[j] += sign
			}
		}
	}
	if sign > 0 {
		st.label[i] = c
	} else {
		st.label[i] = -1
	}
}

// total returns the within-cluster sum of squares of the merged points.
func (st *state) total() float64 {
	var sum float64
	for _, v := range st.ss {
		sum += v
	}
	return sum
}

// leave returns the change of the objective when i leaves its cluster.
func (st *state) leave(i int) float64 {
	c, wi := st.label[i], st.p.weight[i]
	if st.points[c] == 1 {
		return 0
	}
	return (st.s[c]-wi*st.t[c*st.p.m+i])/(st.w[c]-wi) - st.ss[c]
}

// join returns the change when i, not in c, joins cluster c.
func (st *state) join(i, c int) float64 {
	if st.points[c] == 0 {
		return 0
	}
	wi := st.p.weight[i]
	return (st.s[c]+wi*st.t[c*st.p.m+i])/(st.w[c]+wi) - st.ss[c]
}

// replace returns the change of cluster c when i, in c, gives way to j.
func (st *state) replace(i, j, c int) float64 {
	p := st.p
	wi, wj := p.weight[i], p.weight[j]
	t := st.t[c*p.m : (c+1)*p.m]
	s := st.s[c] - wi*t[i] + wj*(t[j]-wi*p.dist[i*p.m+j])
	return s/(st.w[c]-wi+wj) - st.ss[c]
}

// distance returns the squared distance of i from the centre of cluster c,
// which must not be empty.
func (st *state) distance(i, c int) float64 {
	return (st.t[c*st.p.m+i] - st.ss[c]) / st.w[c]
}
