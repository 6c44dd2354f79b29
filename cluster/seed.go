package cluster

import (
	"cmp"
	"math"
	"math/rand/v2"
	"slices"
)

// start returns a first labelling that meets all constraints: points go to the
// nearest k-means++ seed that can take them. Where constraints couple the points
// one start in four is wholly random, because nearness may lead to the same few
// partitions every time. base is a feasible labelling to fall back on when the
// search for one leads into a dead end.
func (p *problem) start(rng *rand.Rand, base []int) []int {
	if p.coupled {
		var cost []float64
		if rng.IntN(4) > 0 {
			cost = p.seed(rng)
		} else {
			cost = make([]float64, p.m*p.k)
			for i := range cost {
				cost[i] = rng.Float64()
			}
		}
		labels := p.greedy(cost)
		if labels == nil {
			labels, _ = p.assign(cost, nil, 20*p.m)
		}
		if labels == nil {
			labels = base
		}
		return labels
	}
	cost := p.seed(rng)
	labels := make([]int, p.m)
	for i := range labels {
		if labels[i] = p.pin[i]; labels[i] >= 0 {
			continue
		}
		labels[i] = 0
		for c := range p.k {
			if cost[i*p.k+c] < cost[i*p.k+labels[i]] {
				labels[i] = c
			}
		}
	}
	return labels
}

// seed draws k-means++ seeds for the clusters and returns the m x k squared
// distances of the points from the seeds: +Inf where a cluster got none because
// all points lie on seeds already.
//
// In every other start, at random, a cluster with pinned points has their mean
// as its seed. In the rest all seeds are drawn, and such a cluster gets either
// the one nearest to that mean or any: pinned points may well lie far from the
// rest of their cluster.
func (p *problem) seed(rng *rand.Rand) []float64 {
	s := &seeding{p: p, cost: make([]float64, p.m*p.k), nearest: make([]float64, p.m)}
	for i := range s.cost {
		s.cost[i] = math.Inf(1)
	}
	for i := range s.nearest {
		s.nearest[i] = math.Inf(1)
	}
	order := rng.Perm(p.k)
	if p.pins == nil {
		for _, c := range order {
			s.drawn(c, rng)
		}
		return s.cost
	}
	if rng.IntN(2) == 0 {
		for c, n := range p.pins.points {
			if n > 0 {
				s.put(c, func(i int) float64 { return p.pins.distance(i, c) })
			}
		}
		for _, c := range order {
			if p.pins.points[c] == 0 {
				s.drawn(c, rng)
			}
		}
		return s.cost
	}
	for _, c := range order {
		s.drawn(c, rng)
	}
	return s.deal(order, rng)
}

// seeding is the state of one k-means++ seeding.
type seeding struct {
	p       *problem
	cost    []float64 // m x k squared distances from the seed of each cluster
	nearest []float64 // squared distance of each point from its nearest seed
	at      []int     // the points drawn
}

// put gives cluster c a seed at the given squared distances from the points.
func (s *seeding) put(c int, distance func(i int) float64) {
	for i := range s.p.m {
		d := max(0, distance(i))
		s.cost[i*s.p.k+c] = d
		s.nearest[i] = min(s.nearest[i], d)
	}
}

// drawn gives cluster c a drawn point as its seed, if there is one left.
func (s *seeding) drawn(c int, rng *rand.Rand) {
	m := s.p.m
	if at := s.draw(rng); at >= 0 {
		s.put(c, func(i int) float64 { return s.p.dist[at*m+i] })
		s.at = append(s.at, at)
	}
}

// deal hands the seeds drawn out anew, clusters with pinned points first.
func (s *seeding) deal(order []int, rng *rand.Rand) []float64 {
	p := s.p
	cost := slices.Repeat([]float64{math.Inf(1)}, len(s.cost))
	give := func(c, n int) {
		at := s.at[n]
		s.at = slices.Delete(s.at, n, n+1)
		for i := range p.m {
			cost[i*p.k+c] = p.dist[at*p.m+i]
		}
	}
	for _, c := range order {
		if p.pins.points[c] == 0 || len(s.at) == 0 {
			continue
		}
		n := rng.IntN(len(s.at))
		if rng.IntN(2) == 0 {
			for e := range s.at {
				if p.pins.distance(s.at[e], c) < p.pins.distance(s.at[n], c) {
					n = e
				}
			}
		}
		give(c, n)
	}
	for _, c := range order {
		if p.pins.points[c] == 0 && len(s.at) > 0 {
			give(c, 0)
		}
	}
	return cost
}

// draw returns a point with probability proportional to its weight times its
// squared distance from the nearest seed (its weight alone when there is no
// seed yet), or -1 if all probabilities are 0.
func (s *seeding) draw(rng *rand.Rand) int {
	chance := func(i int) float64 {
		if math.IsInf(s.nearest[i], 1) {
			return s.p.weight[i]
		}
		return s.p.weight[i] * s.nearest[i]
	}
	var sum float64
	for i := range s.p.m {
		sum += chance(i)
	}
	left, last := rng.Float64()*sum, -1
	for i := range s.p.m {
		if v := chance(i); v > 0 {
			last = i
			if left -= v; left < 0 {
				break
			}
		}
	}
	return last
}

// greedy gives each point to the nearest seed whose cluster can take it, the
// points with most to lose first. It returns nil if that leads nowhere.
func (p *problem) greedy(cost []float64) []int {
	regret := make([]float64, p.m)
	order := make([]int, p.m)
	for i := range order {
		order[i] = i
		row := slices.Clone(cost[i*p.k : (i+1)*p.k])
		slices.Sort(row)
		if p.k > 1 && !math.IsInf(row[1], 1) {
			regret[i] = row[1] - row[0]
		}
	}
	slices.SortStableFunc(order, func(a, b int) int {
		return cmp.Or(
			cmp.Compare(p.pin[b], p.pin[a]), // pinned points before the rest
			cmp.Compare(p.degree[b], p.degree[a]),
			cmp.Compare(p.size[b], p.size[a]),
			cmp.Compare(regret[b], regret[a]),
		)
	})
	st := newLightState(p)
	for _, i := range order {
		best := -1
		for c := range p.k {
			if (p.pin[i] < 0 || p.pin[i] == c) && st.mayJoin(i, c) &&
				(best < 0 || cost[i*p.k+c] < cost[i*p.k+best]) {
				best = c
			}
		}
		if best < 0 {
			return nil
		}
		st.place(i, best)
	}
	for _, size := range st.size {
		if size < p.minSize {
			return nil
		}
	}
	return st.label
}
