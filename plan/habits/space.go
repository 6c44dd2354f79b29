package habits

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// Space places the roles so that their squared distances are somebody's heights.
type Space struct {
	Heights [][]float64 // roles x roles, as learned or as edited
	At      [][]float64 // roles x dimensions
	trade   [][]float64
}

// leastAxis is the part of the largest eigenvalue below which an axis of the space is dropped.
const leastAxis = 1e-9

// Lay sums the places of the roles by their probabilities into dst, which has as many elements as there are dimensions.
func (s *Space) Lay(dst, belief []float64) {
	clear(dst)
	for r, p := range belief {
		for c, v := range s.At[r] {
			dst[c] += p * v
		}
	}
}

// NewSpace lays the roles out. Heights that no points have exactly are met as nearly as points can: the axes of imaginary length
// are dropped (Torgerson, Psychometrika 17, 1952; Gower, Biometrika 53, 1966).
func NewSpace(h *sheet.Habits) (*Space, error) {
	heights, err := heightsOf(h)
	if err != nil {
		return nil, err
	}
	n := len(heights)
	mean := make([]float64, n)
	var all float64
	for r := range heights {
		for s := range heights[r] {
			mean[r] += heights[r][s] / float64(n)
		}
		all += mean[r] / float64(n)
	}
	gram := mat.NewSymDense(n, nil)
	for r := range n {
		for s := r; s < n; s++ {
			gram.SetSym(r, s, -(heights[r][s]-mean[r]-mean[s]+all)/2)
		}
	}
	var eigen mat.EigenSym
	if !eigen.Factorize(gram, true) {
		return nil, fmt.Errorf("%s: the heights contradict one another", h.Name)
	}
	var vectors mat.Dense
	eigen.VectorsTo(&vectors)
	values := eigen.Values(nil)
	out := &Space{Heights: heights, At: make([][]float64, n), trade: tradeHeights()}
	for k := n - 1; k >= 0; k-- {
		if values[k] <= leastAxis*values[n-1] {
			break
		}
		for r := range n {
			out.At[r] = append(out.At[r], vectors.At(r, k)*math.Sqrt(values[k]))
		}
	}
	return out, nil
}

// heightsOf are the trade's heights with those of h in their place. An entry for two kinds holds for all their roles; one
// for two roles goes before it.
func heightsOf(h *sheet.Habits) ([][]float64, error) {
	out := tradeHeights()
	set := func(r, s int, v float64) { out[r][s], out[s][r] = v, v }
	for _, e := range h.Heights {
		if len(e.Kinds) == 0 {
			continue
		}
		if err := known(e.Kinds, kinds(), "kind"); err != nil {
			return nil, err
		}
		for r, a := range trade.Roles {
			for s, b := range trade.Roles {
				if r != s && trade.KindOf[a] == e.Kinds[0] && trade.KindOf[b] == e.Kinds[1] {
					set(r, s, e.Height)
				}
			}
		}
	}
	for _, e := range h.Heights {
		if len(e.Roles) == 0 {
			continue
		}
		if err := known(e.Roles, trade.Roles, "role"); err != nil {
			return nil, err
		}
		if e.Roles[0] != e.Roles[1] {
			set(trade.RoleIndex[e.Roles[0]], trade.RoleIndex[e.Roles[1]], e.Height)
		}
	}
	return out, nil
}

// kinds are the kinds of track, in the order of the roles.
func kinds() []string {
	var out []string
	for _, r := range trade.Roles {
		if k := trade.KindOf[r]; !slices.Contains(out, k) {
			out = append(out, k)
		}
	}
	return out
}

// leastChange is the change of a distance from which a height is written down.
const leastChange = 0.05

// written lists the heights that differ from the trade's: of kinds, then of roles that differ from their kinds.
func (p *problem) written(x []float64) *sheet.Habits {
	h := &sheet.Habits{}
	names := kinds()
	for a := range names {
		for b := a; b < len(names); b++ {
			r, s := p.example(a, b)
			if move := x[a*p.kinds+b]; s >= 0 && math.Abs(move) >= leastChange {
				h.Heights = append(h.Heights, sheet.Height{Kinds: []string{names[a], names[b]}, Height: height(p.trade[r][s], move)})
			}
		}
	}
	for r := range p.kind {
		for s := r + 1; s < len(p.kind); s++ {
			own, shared := x[p.roleAt(r, s)], x[p.kindAt(r, s)]
			if math.Abs(shared) < leastChange {
				own, shared = own+shared, 0
			}
			if math.Abs(own) >= leastChange {
				h.Heights = append(h.Heights, sheet.Height{Roles: []string{trade.Roles[r], trade.Roles[s]}, Height: height(p.trade[r][s], own+shared)})
			}
		}
	}
	return h
}

// example is two roles of two kinds, which all meet at one height; the second is -1 for a kind of one role and itself.
func (p *problem) example(a, b int) (r, s int) {
	r = slices.Index(p.kind, a)
	for s := r + 1; s < len(p.kind); s++ {
		if p.kind[s] == b {
			return r, s
		}
	}
	return r, slices.Index(p.kind[:r], b)
}

// height is that of the trade with its distance moved, to three significant figures.
func height(trade, move float64) float64 {
	d := math.Max(leastDistance, math.Sqrt(trade)+move)
	return figures(d * d)
}

// leastDistance keeps roles from lying on one another, so that what sounds different can still be parted.
const leastDistance = 0.1

// figures keeps three significant figures.
func figures(v float64) float64 {
	return sheet.Round(v, 2-int(math.Floor(math.Log10(v))))
}
