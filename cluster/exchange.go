package cluster

import "slices"

// run says how a descent ended.
type run struct {
	sweeps    int
	converged bool
}

// descend improves the labelling until no move helps or maxSweeps sweeps are
// spent. The sums are made afresh before each sweep, so that rounding errors
// cannot pile up.
func (st *state) descend(maxSweeps int) run {
	var r run
	sweep := func(step func() bool) (again bool) {
		if r.sweeps == maxSweeps {
			return false
		}
		r.sweeps++
		st.reset(slices.Clone(st.label))
		return step()
	}
	if !st.p.coupled {
		for sweep(st.lloyd) {
		}
	}
	steps := []func() bool{st.moves, st.swaps}
	if st.p.coupled {
		steps = append(steps, st.chains)
	}
	if st.p.apart != nil {
		steps = append(steps, st.flips)
	}
	for next := 0; next < len(steps); {
		if sweep(steps[next]) {
			next = 0 // cheap steps first
		} else {
			next++
		}
	}
	// A sweep refused for want of sweeps counts as one that found nothing.
	r.converged = r.sweeps < maxSweeps
	return r
}

// lloyd gives every point to the nearest centre, all at once.
func (st *state) lloyd() bool {
	p := st.p
	next := slices.Clone(st.label)
	for i := range next {
		if p.pin[i] >= 0 {
			continue
		}
		nearest := st.distance(i, next[i])
		for c := range p.k {
			if st.points[c] == 0 {
				continue
			}
			if d := st.distance(i, c); d < nearest {
				next[i], nearest = c, d
			}
		}
	}
	before := st.total()
	for i, c := range next {
		if c != st.label[i] {
			st.take(i)
			st.place(i, c)
		}
	}
	return st.total() < before-p.tol
}

// moves takes each point in turn to the cluster where it lowers the objective
// most.
func (st *state) moves() bool {
	p, moved := st.p, false
	for i := range p.m {
		if p.pin[i] >= 0 || !st.mayLeave(i) {
			continue
		}
		best, bestChange := -1, -p.tol
		leave := st.leave(i)
		for c := range p.k {
			if c == st.label[i] {
				continue
			}
			if change := leave + st.join(i, c); change < bestChange && st.mayJoin(i, c) {
				best, bestChange = c, change
			}
		}
		if best >= 0 {
			st.take(i)
			st.place(i, best)
			moved = true
		}
	}
	return moved
}

// swaps lets pairs of points of different clusters trade places.
func (st *state) swaps() bool {
	p, moved := st.p, false
	for i := range p.m {
		if p.pin[i] >= 0 {
			continue
		}
		for j := range i {
			a, b := st.label[i], st.label[j]
			if a == b || p.pin[j] >= 0 {
				continue
			}
			change := st.replace(i, j, a) + st.replace(j, i, b)
			if change < -p.tol && st.mayReplace(i, j, a) && st.mayReplace(j, i, b) {
				st.take(i)
				st.take(j)
				st.place(i, b)
				st.place(j, a)
				moved = true
			}
		}
	}
	return moved
}

// mayLeave tells whether the cluster of i keeps its least size without i.
func (st *state) mayLeave(i int) bool {
	return st.size[st.label[i]]-st.p.size[i] >= st.p.minSize
}

// mayJoin tells whether cluster c can take i in as it stands.
func (st *state) mayJoin(i, c int) bool {
	p := st.p
	return st.size[c]+p.size[i] <= p.maxSize &&
		(p.caps == nil || p.fits(st.load[c]+p.load[i], c)) &&
		(st.clash == nil || st.clash[c*p.m+i] == 0)
}

// mayReplace tells whether i, in cluster c, may give way to j.
func (st *state) mayReplace(i, j, c int) bool {
	p := st.p
	size := st.size[c] - p.size[i] + p.size[j]
	if size > p.maxSize || size < p.minSize {
		return false
	}
	if p.caps != nil && !p.fits(st.load[c]-p.load[i]+p.load[j], c) {
		return false
	}
	if st.clash == nil {
		return true
	}
	clashes := st.clash[c*p.m+j]
	if p.apart[i*p.m+j] {
		clashes--
	}
	return clashes == 0
}

// fits tells whether a load is within the cap of cluster c, but for rounding.
func (p *problem) fits(load float64, c int) bool {
	return load <= p.caps[c]*(1+1e-12)
}

// within tells whether the size and load of cluster c are within bounds.
func (st *state) within(c int) bool {
	return st.size[c] >= st.p.minSize && st.size[c] <= st.p.maxSize &&
		(st.p.caps == nil || st.p.fits(st.load[c], c))
}
