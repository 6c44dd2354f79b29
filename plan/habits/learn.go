package habits

import (
	"cmp"
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/optimize"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// The prior. An engineer's distance between two roles - the root of the height at which they meet - is the trade's, give or
// take distanceSpread (one standard deviation); ownShare of that variance is a matter of the two roles, the rest is common to all
// roles of their kinds. The trade counts as priorSheets sheets. temperature is the difference in spread that makes the
// looser of two folds e times less probable. Chosen with simulated engineers (testdata/habits): three sheets that agree
// turn a habit, one sheet changes little.
const (
	priorSheets    = 1.0
	distanceSpread = 1.4
	ownShare       = 0.25
	temperature    = 0.3
)

// problem is the posterior of the heights given the sheets, as a function of what is added to the trade's distances: one number for each two kinds (a kind and itself included), one for each two roles.
type problem struct {
	trade [][]float64 // heights of the trade, roles x roles
	kind  []int       // of each role
	kinds int
	seen  []seen
}

// seen is a sheet as the problem needs it: for the fold itself (first) and its neighbours, how much each height adds to the
// spread.
type seen struct {
	folds [][]term
}

type term struct {
	r, s  int
	share float64
}

func newProblem(sheets []*observed) *problem {
	p := &problem{trade: tradeHeights()}
	names := []string{}
	for _, r := range trade.Roles {
		k := trade.KindOf[r]
		if !slices.Contains(names, k) {
			names = append(names, k)
		}
		p.kind = append(p.kind, slices.Index(names, k))
	}
	p.kinds = len(names)
	for _, o := range sheets {
		var s seen
		for _, at := range o.neighbours() {
			var terms []term
			for two, share := range o.shares(at) {
				terms = append(terms, term{two[0], two[1], share})
			}
			slices.SortFunc(terms, func(a, b term) int { return cmp.Or(cmp.Compare(a.r, b.r), cmp.Compare(a.s, b.s)) }) // sums depend on the order
			s.folds = append(s.folds, terms)
		}
		p.seen = append(p.seen, s)
	}
	return p
}

func tradeHeights() [][]float64 {
	out := make([][]float64, len(trade.Roles))
	for r := range out {
		out[r] = make([]float64, len(trade.Roles))
		for s := range out[r] {
			out[r][s] = trade.TreeDistance(r, s)
		}
	}
	return out
}

// size is the number of unknowns: kinds x kinds, then roles x roles, of which the upper triangles are used.
func (p *problem) size() int { return p.kinds*p.kinds + len(p.trade)*len(p.trade) }

func (p *problem) kindAt(r, s int) int {
	a, b := min(p.kind[r], p.kind[s]), max(p.kind[r], p.kind[s])
	return a*p.kinds + b
}

func (p *problem) roleAt(r, s int) int { return p.kinds*p.kinds + min(r, s)*len(p.trade) + max(r, s) }

// heights are those that the unknowns stand for.
func (p *problem) heights(x []float64) [][]float64 {
	out := make([][]float64, len(p.trade))
	for r := range out {
		out[r] = make([]float64, len(p.trade))
		for s := range out[r] {
			if r != s {
				d := p.distance(x, r, s)
				out[r][s] = d * d
			}
		}
	}
	return out
}

// distance is the root of a height, never less than 0.
func (p *problem) distance(x []float64, r, s int) float64 {
	return math.Max(0, math.Sqrt(p.trade[r][s])+x[p.kindAt(r, s)]+x[p.roleAt(r, s)])
}

// loss is the negative logarithm of the posterior, up to a constant, and its gradient where one is asked for. A sheet's
// likelihood is conditional: that of its fold among the folds one step away from it, each as probable as exp(-spread /
// temperature). (A composite likelihood in the sense of Besag, The Statistician 24, 1975; neighbourhoods of the observed
// solution: Smith and Eisner, Proc. ACL 2005.)
func (p *problem) loss(x, gradient []float64) float64 {
	const shared = distanceSpread * distanceSpread * (1 - ownShare) / priorSheets
	const own = distanceSpread * distanceSpread * ownShare / priorSheets
	var sum float64
	for i, v := range x {
		variance := shared
		if i >= p.kinds*p.kinds {
			variance = own
		}
		sum += v * v / (2 * variance)
		if gradient != nil {
			gradient[i] = v / variance
		}
	}
	h := p.heights(x)
	for _, s := range p.seen {
		score := make([]float64, len(s.folds))
		for k, terms := range s.folds {
			for _, t := range terms {
				score[k] -= t.share * h[t.r][t.s] / temperature
			}
		}
		top := slices.Max(score)
		var all float64
		for _, v := range score {
			all += math.Exp(v - top)
		}
		sum += math.Log(all) + top - score[0]
		if gradient == nil {
			continue
		}
		for k, terms := range s.folds {
			pull := -math.Exp(score[k]-top) / all
			if k == 0 {
				pull++
			}
			for _, t := range terms {
				g := pull * t.share * 2 * math.Sqrt(h[t.r][t.s]) / temperature
				gradient[p.kindAt(t.r, t.s)] += g
				gradient[p.roleAt(t.r, t.s)] += g
			}
		}
	}
	return sum
}

// solve finds the most probable heights.
func (p *problem) solve() ([]float64, error) {
	res, err := optimize.Minimize(optimize.Problem{
		Func: func(x []float64) float64 { return p.loss(x, nil) },
		Grad: func(gradient, x []float64) { p.loss(x, gradient) },
	}, make([]float64, p.size()), &optimize.Settings{GradientThreshold: 1e-5, MajorIterations: 500, Concurrent: 1}, &optimize.LBFGS{})
	if res == nil || err != nil && res.Stats.MajorIterations == 0 {
		return nil, fmt.Errorf("the heights could not be estimated: %w", err)
	}
	return res.X, nil // a search that ends because no step helps any more is at its end
}

// Learn estimates the heights of an engineer from sheets they kept. Names are those of the files, for errors.
func Learn(docs []*sheet.Sheet, names []string) (*sheet.Habits, *Report, error) {
	var sheets []*observed
	for n, d := range docs {
		o, err := observe(d)
		if err != nil {
			return nil, nil, fmt.Errorf("%s: %w", names[n], err)
		}
		sheets = append(sheets, o)
	}
	p := newProblem(sheets)
	x, err := p.solve()
	if err != nil {
		return nil, nil, err
	}
	h := p.written(x)
	h.Sheets = len(sheets)
	report, err := look(sheets, h)
	return h, report, err
}
