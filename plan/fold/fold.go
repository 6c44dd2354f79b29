package fold

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// Grouping is a fold of the live tracks onto pairs.
type Grouping struct {
	Labels     []int     // pair of each live track, 0..Pairs-1, in the order of the sheet
	Pairs      int       // number of pairs offered; some may be empty
	Confidence []float64 // 0..1, how often the live track stayed when beliefs were shaken
	RunnerUp   []int     // pair the live track would go to next; -1 if there is none that anybody would take
	Free       []string  // why pairs stay free, the first of them first; the last holds for those beyond
	Names      []string  // names kept from an older sheet, "" for a pair that is to be named anew; nil: all are
}

const (
	restarts = 200 // of the search; each ends in an exchange, and half as many miss no optimum in the tests of package cluster
)

// Fold groups the live tracks onto at most k pairs. Pairs that would only cut one kind of track in two stay free, as
// long as that crowds nobody.
func (s *Session) Fold(k int) (*Grouping, error) {
	labels, ties, cut, err := s.search(k)
	if err != nil {
		return nil, err
	}
	g := &Grouping{Labels: labels, Pairs: k, Free: s.whyFree(cut), RunnerUp: make([]int, len(labels))}
	centres := s.Centres(labels, k)
	for p := range labels {
		g.RunnerUp[p] = s.RunnerUp(p, labels[p], centres)
	}
	shaken, err := s.shake(labels, ties)
	if err != nil {
		return nil, err
	}
	g.Confidence = shaken.stays
	for p := range labels {
		if q := shaken.likeliest(p); q >= 0 {
			g.RunnerUp[p] = q
		} else if g.RunnerUp[p] >= 0 && s.unthinkable(p, labels, g.RunnerUp[p]) {
			g.RunnerUp[p] = -1
		}
	}
	return g, nil
}

// nameFailure puts track names for the observation numbers of an infeasible problem.
func (s *Session) nameFailure(err error, k int) error {
	var inf *cluster.InfeasibleError
	if !errors.As(err, &inf) {
		return err
	}
	chosen := s.chosen()
	var names []string
	for _, p := range inf.Observations {
		if len(chosen) == 0 || chosen[p] {
			names = append(names, s.Tracks[s.Live[p]].Profile.File)
		}
	}
	return &OptionError{fmt.Errorf("--tie, --apart and --pin contradict one another on %s, for %s; drop one of them or offer more pairs",
		sheet.Plural(k, "pair", "pairs"), strings.Join(names, ", "))}
}

// chosen are the positions of the tracks that the user's ties, splits and pins name.
func (s *Session) chosen() map[int]bool {
	out := map[int]bool{}
	for p := range s.pins {
		out[p] = true
	}
	for _, pair := range s.apart {
		out[pair[0]], out[pair[1]] = true, true
	}
	for _, t := range s.Ties {
		if t.ByUser {
			out[slices.Index(s.Live, t.A)], out[slices.Index(s.Live, t.B)] = true, true
		}
	}
	return out
}

// crowded is the number of tracks from which a kind of track may take a second pair.
const crowded = 14

// leaveFree merges pairs that hold the same kind of track and nothing else, and pairs that cut a drum kit otherwise
// than engineers do: cymbals or rooms may leave the close microphones, a mixture of them does not (common practice,
// no source). It also says which kind each merger keeps whole. With Options.UseAll it merges nothing.
func (s *Session) leaveFree(labels []int, k int) (left []int, whole []string) {
	labels = slices.Clone(labels)
	if s.opt.UseAll {
		return labels, nil
	}
	for {
		held := s.holdings(labels, k)
		merged := false
		for a := range k {
			for b := a + 1; b < k && !merged; b++ {
				if !samePlace(held[a], held[b]) || s.habits.Parts(s.rolesOn(labels, a), s.rolesOn(labels, b)) || held[a].size+held[b].size > crowded || s.keptApart(labels, a, b) {
					continue
				}
				for p, l := range labels {
					if l == b {
						labels[p] = a
					}
				}
				merged = true
				whole = append(whole, s.wholeOf(labels, a))
			}
		}
		if !merged {
			return labels, whole
		}
	}
}

// wholeOf names what a pair holds most of: a kind, or the drum kit.
func (s *Session) wholeOf(labels []int, pair int) string {
	on, most := map[string]int{}, ""
	for p, l := range labels {
		if l == pair {
			bus := s.Bus(p)
			if on[bus]++; on[bus] > on[most] {
				most = bus
			}
		}
	}
	return strings.ToLower(most)
}

// whyFree says why pairs stay free: a further one would have cut what a merger kept whole; or there is nothing more to part.
func (s *Session) whyFree(whole []string) []string {
	var out []string
	for _, what := range whole {
		out = append(out, fmt.Sprintf("free: it would only cut the %s in two (--use-all does that)", what))
	}
	return append(out, fmt.Sprintf("free: there are only %s to part, tracks that are tied counting as one", sheet.Plural(s.parts(), "thing", "things")))
}

// parts counts what a fold can part: tracks, those that are tied together once.
func (s *Session) parts() int {
	n := len(s.Live)
	for _, u := range s.units {
		n -= len(u) - 1
	}
	return n
}

// rolesOn lists the likeliest role of each track on a pair.
func (s *Session) rolesOn(labels []int, pair int) []int {
	var out []int
	for p, l := range labels {
		if l == pair {
			role, _ := s.Belief[s.Live[p]].Best()
			out = append(out, trade.RoleIndex[role])
		}
	}
	return out
}

// holding is what a pair holds: how many tracks of each kind.
type holding struct {
	of   map[string]int
	size int
}

// samePlace tells whether two pairs had better be one: both hold one and the same kind of track, or both are cuts of a drum kit
// as no engineer makes them.
func samePlace(a, b holding) bool {
	if len(a.of) == 1 && len(b.of) == 1 && a.size > 0 {
		for kind := range a.of {
			if b.of[kind] > 0 {
				return true
			}
		}
	}
	return a.cutsKit() && b.cutsKit()
}

// cutsKit tells whether a pair holds close drums, or a mixture of a kit's kinds, and more of the kit than of anything else: one
// track that is taken for something else does not make it another pair.
func (h holding) cutsKit() bool {
	kit, kinds := 0, 0
	for kind, n := range h.of {
		if trade.Kit[kind] {
			kit += n
			kinds++
		}
	}
	return 2*kit > h.size && (kinds > 1 || h.of["Drums"] > 0)
}

// holdings counts the tracks of each kind on each pair.
func (s *Session) holdings(labels []int, k int) []holding {
	out := make([]holding, k)
	for l := range out {
		out[l].of = map[string]int{}
	}
	for p, l := range labels {
		role, _ := s.Belief[s.Live[p]].Best()
		out[l].of[trade.KindOf[role]]++
		out[l].size++
	}
	return out
}

func (s *Session) keptApart(labels []int, a, b int) bool {
	for _, x := range s.apart {
		if labels[x[0]] == a && labels[x[1]] == b || labels[x[0]] == b && labels[x[1]] == a {
			return true
		}
	}
	pinned := map[int]bool{}
	for _, pair := range s.pins {
		pinned[pair] = true
	}
	return pinned[a] || pinned[b]
}

// order numbers the pairs as a sheet lists them: by the first role they hold most of; pinned pairs keep their place,
// free pairs come last.
func (s *Session) order(labels []int, k int) []int {
	place := make([]float64, k) // mean index into Roles, weighted
	mass := make([]float64, k)
	for p, l := range labels {
		for r, q := range s.Belief[s.Live[p]] {
			place[l] += s.weights[p] * q * float64(r)
			mass[l] += s.weights[p] * q
		}
	}
	fixed := map[int]bool{}
	for p, pair := range s.pins {
		if labels[p] == pair {
			fixed[pair] = true
		}
	}
	var moving []int
	for l := range k {
		if mass[l] > 0 {
			place[l] /= mass[l]
		} else {
			place[l] = math.Inf(1)
		}
		if !fixed[l] {
			moving = append(moving, l)
		}
	}
	slices.SortStableFunc(moving, func(a, b int) int {
		switch {
		case place[a] < place[b]:
			return -1
		case place[a] > place[b]:
			return 1
		}
		return 0
	})
	rename := make([]int, k)
	next := 0
	for l := range k {
		if fixed[l] {
			rename[l] = l
			continue
		}
		rename[moving[next]] = l
		next++
	}
	out := make([]int, len(labels))
	for p, l := range labels {
		out[p] = rename[l]
	}
	return out
}

// Centres returns the weighted mean of each pair, k x columns; rows of free pairs are NaN.
func (s *Session) Centres(labels []int, k int) *mat.Dense {
	_, d := s.Space.Dims()
	c := mat.NewDense(k, d, nil)
	mass := make([]float64, k)
	for p, l := range labels {
		if l < 0 {
			continue // on no pair
		}
		mass[l] += s.weights[p]
		for j := range d {
			c.Set(l, j, c.At(l, j)+s.weights[p]*s.Space.At(p, j))
		}
	}
	for l := range k {
		for j := range d {
			c.Set(l, j, c.At(l, j)/mass[l])
		}
	}
	return c
}

// Distance is the squared distance of live track p from a centre; NaN for a free pair.
func (s *Session) Distance(p int, centre []float64) float64 {
	var sum float64
	for j, v := range s.Space.RawRowView(p) {
		sum += (v - centre[j]) * (v - centre[j])
	}
	return sum
}

// RunnerUp is the nearest pair that is not own, -1 if all others are free.
func (s *Session) RunnerUp(p, own int, centres *mat.Dense) int {
	k, _ := centres.Dims()
	best, at := math.Inf(1), -1
	for l := range k {
		if d := s.Distance(p, centres.RawRowView(l)); l != own && d < best {
			best, at = d, l
		}
	}
	return at
}
