package cluster

import "math"

// chains lets a point take the place of another, which goes on to a third
// cluster: the way past a cap or a cannot-link that blocks the single move.
func (st *state) chains() bool {
	p := st.p
	onward := make([][2]exit, p.m)
	for j := range onward {
		onward[j] = st.exits(j)
	}
	for i := range p.m {
		if p.pin[i] >= 0 || !st.mayLeave(i) {
			continue
		}
		leave := st.leave(i)
		for j := range p.m {
			a, b := st.label[i], st.label[j]
			if a == b || p.pin[j] >= 0 {
				continue
			}
			out := onward[j][0]
			if out.to == a {
				out = onward[j][1]
			}
			change := leave + st.replace(j, i, b) + out.change
			if change < -p.tol && st.mayReplace(j, i, b) {
				st.take(j)
				st.take(i)
				st.place(i, b)
				st.place(j, out.to)
				// Every sum has changed; the next sweep starts anew.
				return true
			}
		}
	}
	return false
}

// exit is a cluster a point may go to and what that costs there.
type exit struct {
	to     int
	change float64
}

// exits returns the two cheapest clusters that may take j in; +Inf if none.
func (st *state) exits(j int) [2]exit {
	none := exit{to: -1, change: math.Inf(1)}
	e := [2]exit{none, none}
	for c := range st.p.k {
		if c == st.label[j] || !st.mayJoin(j, c) {
			continue
		}
		switch v := st.join(j, c); {
		case v < e[0].change:
			e[0], e[1] = exit{c, v}, e[0]
		case v < e[1].change:
			e[1] = exit{c, v}
		}
	}
	return e
}

// flips lets a point change its cluster together with all that cannot-links
// force to change with it: two clusters trade a whole connected component of
// the cannot-links between them (a Kempe chain of graph colouring).
func (st *state) flips() bool {
	p := st.p
	for i := range p.m {
		if p.degree[i] == 0 || p.pin[i] >= 0 {
			continue
		}
		for c := range p.k {
			// Clashes with c: without one, moves has seen the change already.
			if c == st.label[i] || st.clash[c*p.m+i] == 0 {
				continue
			}
			chain := st.component(i, c)
			if chain == nil {
				continue
			}
			before, a := st.total(), st.label[i]
			st.flip(chain, a, c)
			if st.total() < before-p.tol && st.within(a) && st.within(c) {
				return true
			}
			st.flip(chain, a, c)
		}
	}
	return false
}

// component returns the points of the clusters of i and c that cannot-links
// join to i, or nil if one of them is pinned.
func (st *state) component(i, c int) []int {
	p, a := st.p, st.label[i]
	seen := make([]bool, p.m)
	seen[i] = true
	chain := []int{i}
	for n := 0; n < len(chain); n++ {
		if p.pin[chain[n]] >= 0 {
			return nil
		}
		for j := range p.m {
			if !seen[j] && p.apart[chain[n]*p.m+j] && (st.label[j] == a || st.label[j] == c) {
				seen[j] = true
				chain = append(chain, j)
			}
		}
	}
	return chain
}

// flip moves the points from a to b and from b to a.
func (st *state) flip(points []int, a, b int) {
	for _, i := range points {
		to := a + b - st.label[i]
		st.take(i)
		st.place(i, to)
	}
}
