package fold

import (
	"math"
	"math/rand/v2"
	"runtime"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
	"foldout/plan/trade"
)

const (
	shakes        = 48 // runs with shaken beliefs
	shakeRestarts = 4
	shakeNats     = 0.8 // standard deviation of the noise on log beliefs (chosen): a belief is shaken by a factor of about two
)

// shaken is what became of the live tracks when beliefs were shaken.
type shaken struct {
	stays []float64   // share of the runs in which the track stayed on its pair; 1 for what the user has pinned
	joins [][]float64 // per track and pair: runs in which it left and most of its company came from that pair
	alone []float64   // per track: runs in which it left and had a pair to itself
}

// shake repeats the fold with noise on the logarithms of the beliefs and counts how often each live track stays with
// its pair, and whom it joins when it does not. Tracks that are tied together are shaken together. In these runs pairs
// have no numbers, so pins hold only as far as they bind tracks together or keep them apart.
func (s *Session) shake(labels []int, units [][]int) (*shaken, error) {
	used := map[int]bool{}
	for _, l := range labels {
		used[l] = true
	}
	pairs := slices.Max(labels) + 1
	out := &shaken{stays: make([]float64, len(labels)), joins: make([][]float64, len(labels)), alone: make([]float64, len(labels))}
	for p := range out.joins {
		out.joins[p] = make([]float64, pairs)
	}
	ties, apart := s.pinsAsTies(units)
	unit := s.unitOf()
	var mu sync.Mutex
	var failed error
	var group sync.WaitGroup
	next := make(chan uint64)
	for range runtime.GOMAXPROCS(0) {
		group.Go(func() {
			for run := range next {
				res, err := cluster.KMeans(s.noisy(unit, run), len(used), cluster.Options{Weights: s.weights, MustLink: ties, CannotLink: apart, Restarts: shakeRestarts, Seed: s.opt.Seed + run})
				var rename []int
				if err == nil {
					rename, err = cluster.MatchLabels(labels, res.Labels)
				}
				mu.Lock()
				if err != nil {
					failed = err
				} else {
					out.count(labels, res.Labels, rename, unit)
				}
				mu.Unlock()
			}
		})
	}
	for run := range uint64(shakes) {
		next <- run
	}
	close(next)
	group.Wait()
	for p := range out.stays {
		out.stays[p] /= shakes
	}
	s.decided(out.stays)
	return out, failed
}

// pinsAsTies adds pins to the ties: they become ties between tracks of one pair and splits between those of different ones.
func (s *Session) pinsAsTies(units [][]int) (ties [][]int, apart [][2]int) {
	ties, apart = slices.Clone(units), slices.Clone(s.apart)
	first := map[int]int{} // pair -> a track pinned there
	for p := range s.Live {
		q, ok := s.pins[p]
		if !ok {
			continue
		}
		if f, ok := first[q]; ok {
			ties = append(ties, []int{f, p})
			continue
		}
		for _, f := range first {
			apart = append(apart, [2]int{min(f, p), max(f, p)})
		}
		first[q] = p
	}
	slices.SortFunc(apart, func(a, b [2]int) int { return slices.Compare(a[:], b[:]) })
	return ties, slices.Compact(apart)
}

// unitOf numbers the units; a track without ties has a number of its own.
func (s *Session) unitOf() []int {
	unit := make([]int, len(s.Live))
	for p := range unit {
		unit[p] = -1 - p
	}
	for u, members := range s.units {
		for _, p := range members {
			unit[p] = u
		}
	}
	return unit
}

// noisy is the space with shaken beliefs, the same for the same run.
func (s *Session) noisy(unit []int, run uint64) *mat.Dense {
	t := *s
	t.Space = mat.DenseCopyOf(s.Space)
	rng := rand.New(rand.NewPCG(s.opt.Seed, run))
	noise := map[int]Belief{}
	for p, i := range s.Live {
		b, ok := noise[unit[p]]
		if !ok {
			b = make(Belief, len(trade.Roles))
			for r, q := range s.Belief[i] {
				b[r] = math.Max(q, 1e-9) * math.Exp(shakeNats*rng.NormFloat64())
			}
			noise[unit[p]] = b.normalise()
		}
		t.place(p, b)
	}
	return t.Space
}

// count adds one run. rename says which pair each group of the run is.
func (h *shaken) count(labels, groups, rename, unit []int) {
	for p, own := range groups {
		if rename[own] == labels[p] {
			h.stays[p]++
			continue
		}
		company := make([]float64, len(h.joins[p]))
		any := false
		for o, g := range groups {
			if g == own && unit[o] != unit[p] {
				company[labels[o]]++
				any = true
			}
		}
		switch most := slices.Index(company, slices.Max(company)); {
		case !any:
			h.alone[p]++
		case most != labels[p]:
			h.joins[p][most]++
		}
	}
}

// likeliest is the pair that track p joined most often when it left, -1 if it left seldom, or mostly to be alone.
func (h *shaken) likeliest(p int) int {
	most := slices.Index(h.joins[p], slices.Max(h.joins[p]))
	if h.joins[p][most] == 0 || h.joins[p][most] < h.alone[p] {
		return -1
	}
	return most
}

// decided makes the places that the user has decided certain, and those of the tracks tied to them.
func (s *Session) decided(confidence []float64) {
	for p := range s.pins {
		confidence[p] = 1
	}
	for _, unit := range s.units {
		if slices.ContainsFunc(unit, s.pinned) {
			for _, p := range unit {
				confidence[p] = 1
			}
		}
	}
}

// unthinkable tells whether the kind of track p sits with none of the kinds on a pair.
func (s *Session) unthinkable(p int, labels []int, pair int) bool {
	role, _ := s.Belief[s.Live[p]].Best()
	never := true
	for o, l := range labels {
		if l != pair || o == p {
			continue
		}
		other, _ := s.Belief[s.Live[o]].Best()
		at := func(r int) bool { return false }
		never = never && s.habits.Together(trade.RoleIndex[role], trade.RoleIndex[other], at) >= 1
	}
	return never
}
