package fold

import (
	"math"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
	"foldout/features"
	"foldout/plan/trade"
)

// column is one dimension of the space in which tracks are folded.
type column struct {
	name  string
	Scale float64
	Raw   *measure // nil for a branch of the tree
}

// measure is a figure of the profile that enters the space beside the roles, with little weight: it decides where
// the roles leave it open, and splits crowded pairs when there are pairs to spare.
type measure struct {
	Name, Unit string
	value      func(p *features.Profile) float64 // on the scale in which differences count
	Shown      func(p *features.Profile) float64 // as people read it
}

var measures = []measure{
	{"centroid", "Hz", func(p *features.Profile) float64 { return math.Log2(math.Max(float64(p.CentroidHz), 20)) }, func(p *features.Profile) float64 { return float64(p.CentroidHz) }},
	{"spread", "Hz", func(p *features.Profile) float64 { return math.Log2(math.Max(float64(p.SpreadHz), 20)) }, func(p *features.Profile) float64 { return float64(p.SpreadHz) }},
	{"crest factor", "dB", func(p *features.Profile) float64 { return finite(float64(p.CrestDB)) }, func(p *features.Profile) float64 { return float64(p.CrestDB) }},
	{"onset rate", "/s", func(p *features.Profile) float64 { return math.Sqrt(p.OnsetRateHz) }, func(p *features.Profile) float64 { return p.OnsetRateHz }},
	{"tonality", "", func(p *features.Profile) float64 { return p.Tonality }, func(p *features.Profile) float64 { return p.Tonality }},
	{"energy below 250 Hz", "%", func(p *features.Profile) float64 { return p.RegisterShare[0] + p.RegisterShare[1] }, func(p *features.Profile) float64 { return 100 * (p.RegisterShare[0] + p.RegisterShare[1]) }},
}

// How certainty becomes weight. The power was chosen on 22 rendered sessions with a role model that had not
// heard them. Results between 0 and 1 lie within a few hundredths: 0 lets stray effects claim pairs in named sessions, 1
// does worse on material of another make.
const (
	leastWeight    = 0.05
	certaintyPower = 0.4
)

// measureWeight is the squared distance that one spread in one measure adds: small beside the tree's heights.
const measureWeight = 0.004

func finite(v float64) float64 {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return 0
	}
	return v
}

// layOut places the live tracks in the space. Each of the tree's branches is a column holding the probability of the
// roles below it, or the engineer's habits give the columns; measures follow, robustly standardised.
func (s *Session) layOut() error {
	n := len(s.Live)
	if n == 0 {
		return nil
	}
	s.Columns = s.roleColumns()
	first := len(s.Columns)
	for i := range measures {
		s.Columns = append(s.Columns, column{name: measures[i].Name, Scale: math.Sqrt(measureWeight), Raw: &measures[i]})
	}
	s.Space = mat.NewDense(n, len(s.Columns), nil)
	s.weights = make([]float64, n)
	mass := map[string]float64{}
	for p, i := range s.Live {
		s.place(p, s.Belief[i])
		for r, q := range s.Belief[i] {
			mass[trade.KindOf[trade.Roles[r]]] += q
		}
	}
	// Every kind counts alike, however many tracks it has: thirteen backing voices do not outvote one bass.
	// Nor does a track of which little is known stand up for a pair of its own.
	for p, i := range s.Live {
		for r, q := range s.Belief[i] {
			s.weights[p] += q / math.Max(1, mass[trade.KindOf[trade.Roles[r]]])
		}
		s.weights[p] *= math.Pow(math.Max(leastWeight, s.Belief[i].certainty()), certaintyPower)
	}
	raw := mat.NewDense(n, len(measures), nil)
	for p, i := range s.Live {
		for m := range measures {
			raw.Set(p, m, measures[m].value(&s.Tracks[i].Profile))
		}
	}
	even, _, err := cluster.Standardize(raw, cluster.Robust)
	if err != nil {
		return err
	}
	for p := range n {
		for m := range measures {
			s.Space.Set(p, first+m, s.Columns[first+m].Scale*math.Max(-farthest, math.Min(farthest, even.At(p, m))))
		}
	}
	return nil
}

// farthest is how many spreads from the middle a measure counts at most.
const farthest = 3

// roleColumns are the columns in which tracks lie by their roles: the branches of the trade's tree, or the axes on which the
// engineer's habits lay the roles out.
func (s *Session) roleColumns() []column {
	var out []column
	if s.habits != nil {
		for range s.habits.At[0] {
			out = append(out, column{name: "habit", Scale: 1})
		}
		return out
	}
	for _, b := range trade.Branches {
		out = append(out, column{name: b.Name, Scale: b.Scale})
	}
	return out
}

// place sets the coordinates of the live track p in the columns of the roles.
func (s *Session) place(p int, belief Belief) {
	if s.habits != nil {
		s.habits.Lay(s.Space.RawRowView(p)[:len(s.habits.At[0])], belief)
		return
	}
	for c, b := range trade.Branches {
		var q float64
		for _, r := range b.Roles {
			q += belief[r]
		}
		s.Space.Set(p, c, b.Scale*q)
	}
}
