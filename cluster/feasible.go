package cluster

import (
	"cmp"
	"math"
	"slices"
)

// Nodes of the search tree spent to find one partition that meets the
// constraints, and on each trial that narrows down which points contradict one
// another. Chosen to stay below about a second at 100 points, 16 clusters.
const (
	searchNodes = 100_000
	narrowNodes = 2_000
)

// separate enters the cannot-link pairs.
func (p *problem) separate(pairs [][2]int) error {
	if len(pairs) == 0 {
		return nil
	}
	point := make([]int, len(p.rows))
	for g, group := range p.members {
		for _, i := range group {
			point[i] = g
		}
	}
	p.apart = make([]bool, p.m*p.m)
	for _, pair := range pairs {
		a, b := point[pair[0]], point[pair[1]]
		switch {
		case pair[0] == pair[1]:
			return infeasible(pair[:1], "a cannot-link pair names one observation twice")
		case a == b:
			return infeasible(pair[:], "a cannot-link pair is also must-linked")
		case p.pin[a] >= 0 && p.pin[a] == p.pin[b]:
			return infeasible(pair[:], "a cannot-link pair is pinned to cluster %d", p.pin[a])
		}
		if !p.apart[a*p.m+b] {
			p.apart[a*p.m+b], p.apart[b*p.m+a] = true, true
			p.degree[a]++
			p.degree[b]++
		}
	}
	return nil
}

// checkCaps refuses what is plainly too much or too little.
func (p *problem) checkCaps() error {
	n := len(p.rows)
	switch {
	case n > p.k*p.maxSize:
		return infeasible(nil, "%d observations exceed %d clusters of at most %d", n, p.k, p.maxSize)
	case n < p.k*p.minSize:
		return infeasible(nil, "%d observations are too few for %d clusters of at least %d", n, p.k, p.minSize)
	}
	var load, room float64
	for g, group := range p.members {
		if p.size[g] > p.maxSize {
			return infeasible(group, "a must-link group of %d exceeds the greatest size %d", p.size[g], p.maxSize)
		}
		load += p.load[g]
		if p.caps == nil {
			continue
		}
		widest := slices.Max(p.caps)
		if p.pin[g] >= 0 {
			widest = p.caps[p.pin[g]]
		}
		if p.load[g] > widest*(1+1e-12) {
			return infeasible(group, "load %g exceeds the cap %g", p.load[g], widest)
		}
	}
	for _, c := range p.caps {
		room += c
	}
	if p.caps != nil && load > room*(1+1e-12) {
		return infeasible(nil, "the loads sum to %g, the caps to %g", load, room)
	}
	return nil
}

// anyFeasible returns a labelling that meets the constraints, or an
// *InfeasibleError that names the points of an irreducible contradiction.
func (p *problem) anyFeasible() ([]int, error) {
	labels, exhausted := p.assign(nil, nil, searchNodes)
	if labels != nil {
		return labels, nil
	}
	q := *p
	q.minSize = 0
	if relaxed, _ := q.assign(nil, nil, searchNodes); relaxed != nil {
		e := infeasible(nil, "no way to give each of %d clusters at least %d observations", p.k, p.minSize)
		e.Proven = exhausted
		return nil, e
	}
	if !exhausted {
		e := infeasible(nil, "no partition into %d clusters found in %d steps; loosen caps, pins or cannot-links", p.k, searchNodes)
		e.Proven = false
		return nil, e
	}
	// Deletion filter: a point whose absence cures nothing is not part of it.
	use := make([]bool, p.m)
	for g := range use {
		use[g] = true
	}
	for g := range use {
		use[g] = false
		if found, all := q.assign(nil, use, narrowNodes); found != nil || !all {
			use[g] = true
		}
	}
	var obs []int
	for g, in := range use {
		if in {
			obs = append(obs, p.members[g]...)
		}
	}
	return nil, infeasible(obs, "cannot-links, pins and caps leave no place for all in %d clusters", p.k)
}

// assign searches depth first, the point with the fewest clusters open to it
// first (Brelaz, Commun. ACM 22, 1979), for a labelling of the points in use
// (nil: all) that meets the constraints. A point tries the clusters in order of
// its costs (m x k; nil: all equal). It returns nil if there is none, or none
// within the given number of nodes; exhausted tells the former.
func (p *problem) assign(cost []float64, use []bool, nodes int) (labels []int, exhausted bool) {
	labels = make([]int, p.m)
	s := &search{st: newLightState(p), cost: cost, nodes: nodes}
	for g := range labels {
		labels[g] = -1
		if use == nil || use[g] {
			s.open = append(s.open, g)
			s.left += p.size[g]
		}
	}
	ok := s.extend()
	if !ok {
		return nil, s.nodes > 0
	}
	copy(labels, s.st.label)
	return labels, true
}

// search is the state of one depth-first search.
type search struct {
	st    *state
	cost  []float64
	open  []int // points not yet placed
	left  int   // observations in them
	nodes int   // nodes left to spend
}

// newLightState is a state without distances: a search asks only whether points
// fit.
func newLightState(p *problem) *state {
	q := *p
	q.dist = nil
	st := newState(&q)
	for i := range st.label {
		st.label[i] = -1
	}
	return st
}

func (s *search) extend() bool {
	if len(s.open) == 0 {
		return s.lacking() == 0
	}
	if s.nodes--; s.nodes <= 0 || s.lacking() > s.left {
		return false
	}
	at, choices := s.tightest()
	i := s.open[at]
	last := len(s.open) - 1
	s.open[at] = s.open[last]
	s.open = s.open[:last]
	s.left -= s.st.p.size[i]
	var failedEmpty []int
	for _, c := range choices {
		if s.st.points[c] == 0 {
			// Empty clusters of one cap are alike: one failure is enough.
			if slices.ContainsFunc(failedEmpty, func(e int) bool { return s.st.p.alike(e, c) }) {
				continue
			}
			failedEmpty = append(failedEmpty, c)
		}
		s.st.place(i, c)
		if s.extend() {
			return true
		}
		s.st.take(i)
		if s.nodes <= 0 {
			break
		}
	}
	s.left += s.st.p.size[i]
	s.open = append(s.open, i)
	s.open[at], s.open[last] = s.open[last], s.open[at]
	return false
}

// lacking returns how many observations the clusters still need.
func (s *search) lacking() int {
	sum := 0
	for _, size := range s.st.size {
		sum += max(0, s.st.p.minSize-size)
	}
	return sum
}

// tightest returns the index in open of the point with the fewest clusters open
// to it, among equals the largest, the one of most load, the one that would lose
// most by not getting its first choice; and those clusters in order of cost.
func (s *search) tightest() (at int, choices []int) {
	p := s.st.p
	at = -1
	var bestCount int
	var bestRegret float64
	for n, i := range s.open {
		count := 0
		first, second := math.Inf(1), math.Inf(1)
		for c := range p.k {
			if !s.may(i, c) {
				continue
			}
			count++
			if s.cost != nil {
				switch v := s.cost[i*p.k+c]; {
				case v < first:
					first, second = v, first
				case v < second:
					second = v
				}
			}
		}
		regret := 0.0
		if s.cost != nil && !math.IsInf(second, 1) {
			regret = second - first
		}
		better := at < 0 || count < bestCount
		if !better && count == bestCount {
			better = cmp.Or(cmp.Compare(p.size[i], p.size[s.open[at]]), cmp.Compare(p.load[i], p.load[s.open[at]]),
				cmp.Compare(regret, bestRegret), cmp.Compare(s.open[at], i)) > 0
		}
		if better {
			at, bestCount, bestRegret = n, count, regret
		}
	}
	i := s.open[at]
	for c := range p.k {
		if s.may(i, c) {
			choices = append(choices, c)
		}
	}
	if s.cost != nil {
		slices.SortStableFunc(choices, func(a, b int) int {
			return cmp.Compare(s.cost[i*p.k+a], s.cost[i*p.k+b])
		})
	}
	return at, choices
}

func (s *search) may(i, c int) bool {
	pin := s.st.p.pin[i]
	return (pin < 0 || pin == c) && s.st.mayJoin(i, c)
}

// alike tells whether two clusters without pins are interchangeable.
func (p *problem) alike(a, b int) bool {
	return p.caps == nil || p.caps[a] == p.caps[b]
}
