package cluster

import (
	"math"
	"math/rand/v2"
)

// start returns a first labelling that meets all constraints: points go to the
// nearest k-means++ seed that can take them. base is a feasible labelling to
// fall back on when that leads into a dead end.
func (p *problem) start(rng *rand.Rand, base []int) []int {
	cost := p.seed(rng)
	if p.coupled {
		if labels, _ := p.assign(cost, nil, 20*p.m); labels != nil {
			return labels
		}
		return base
	}
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

// seed draws k-means++ seeds for the clusters that have no pinned points and
// returns the m x k squared distances of the points from the seeds: +Inf where
// a cluster got none because all points lie on seeds already. A cluster with
// pinned points has their mean as its seed.
func (p *problem) seed(rng *rand.Rand) []float64 {
	cost := make([]float64, p.m*p.k)
	for i := range cost {
		cost[i] = math.Inf(1)
	}
	nearest := make([]float64, p.m)
	for i := range nearest {
		nearest[i] = math.Inf(1)
	}
	put := func(c int, distance func(i int) float64) {
		for i := range p.m {
			d := max(0, distance(i))
			cost[i*p.k+c] = d
			nearest[i] = min(nearest[i], d)
		}
	}
	pinned := newState(p)
	pinned.reset(p.pin)
	seeded := false
	for c, n := range pinned.points {
		if n > 0 {
			put(c, func(i int) float64 { return pinned.distance(i, c) })
			seeded = true
		}
	}
	for _, c := range rng.Perm(p.k) {
		if pinned.points[c] > 0 {
			continue
		}
		at := p.draw(rng, nearest, seeded)
		if at < 0 {
			break
		}
		put(c, func(i int) float64 { return p.dist[at*p.m+i] })
		seeded = true
	}
	return cost
}

// draw returns a point that is not pinned with probability proportional to its
// weight times its squared distance from the nearest seed (its weight alone
// when there is no seed yet), or -1 if all probabilities are 0.
func (p *problem) draw(rng *rand.Rand, nearest []float64, seeded bool) int {
	chance := func(i int) float64 {
		switch {
		case p.pin[i] >= 0:
			return 0
		case !seeded:
			return p.weight[i]
		}
		return p.weight[i] * nearest[i]
	}
	var sum float64
	for i := range p.m {
		sum += chance(i)
	}
	left, last := rng.Float64()*sum, -1
	for i := range p.m {
		if v := chance(i); v > 0 {
			last = i
			if left -= v; left < 0 {
				break
			}
		}
	}
	return last
}
