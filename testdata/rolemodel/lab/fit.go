package lab

import (
	"fmt"
	"math"
	"strings"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/optimize"
)

// Recipe is how a model is fitted. Each number was chosen by leaving bodies of real material out; see the README.
type Recipe struct {
	Shrink     float64            // of every weight, per track
	Alike      float64            // how much harder the difference of lead and backing voices is shrunk
	Single     float64            // weight of a single rendered track against one of a session
	Between    float64            // how much harder a weight is shrunk for what differs from body to body while the role stays
	Within     float64            // and for what differs between a track and its halves
	Moved      float64            // and for what moves when only the file of a track changes
	Iterations int                // of the minimiser, at most
	Weigh      map[string]float64 // further weights, by the beginning of BODY:ROLE
}

// Shipped is the recipe of the committed table.
var Shipped = Recipe{Shrink: 10, Alike: 8, Single: 0.25, Between: 5, Within: 60, Moved: 10, Iterations: 200}

// awayCentre and awaySpread standardise the distance from the usual value.
const awayCentre, awaySpread = 0.8, 0.8333

// Model holds weights: for each element, for each element's distance, then the bias; each row has a weight per role.
type Model struct {
	Elements int
	Weights  []float64 // (2 Elements + 1) x roles
}

// levels are the tree's: coarse kind, family, role. A role's weights are the sum of its three parts, each shrunk, so
// that roles of one family share what they have in common and differ only where the data insist.
func levels() (member [3][]int, size [3]int) {
	for l := range member {
		member[l] = make([]int, len(Roles))
	}
	for r, f := range familyOfRole {
		member[0][r], member[1][r], member[2][r] = coarseOfFamily[f], f, r
	}
	return member, [3]int{len(Coarse), len(Families), len(Roles)}
}

// design turns codes into rows of the model: elements, distances, one.
func design(rows []*Row, elements int) blas64.General {
	d := 2*elements + 1
	x := blas64.General{Rows: len(rows), Cols: d, Stride: d, Data: make([]float64, len(rows)*d)}
	for i, r := range rows {
		at := x.Data[i*d:]
		for e, c := range r.Code {
			z := float64(c) / steps
			at[e], at[elements+e] = z, (math.Abs(z)-awayCentre)/awaySpread
		}
		at[2*elements] = 1
	}
	return x
}

// weigh counts each track once however many rows it has, and rare roles with the root of their balance.
func (q Recipe) weigh(rows []*Row) []float64 {
	count := map[string]float64{}
	for _, r := range rows {
		count[r.Body+"/"+r.File]++
	}
	w, perRole := make([]float64, len(rows)), make([]float64, len(Roles))
	for i, r := range rows {
		w[i] = 1 / count[r.Body+"/"+r.File]
		if strings.HasPrefix(r.Body, "solo") {
			w[i] *= q.Single
		}
		for prefix, by := range q.Weigh {
			if strings.HasPrefix(r.Body+":"+Roles[r.Role], prefix) {
				w[i] *= by
			}
		}
		perRole[r.Role] += w[i]
	}
	var sum float64
	for i, r := range rows {
		w[i] /= math.Sqrt(perRole[r.Role])
		sum += w[i]
	}
	for i := range w {
		w[i] /= sum
	}
	return w
}

// Fit minimises the weighted mean of the log losses of coarse kind, family and role plus the shrinkage (convex enough to
// have one answer in practice; L-BFGS after Nocedal 1980, Math. Comp. 35, 773-782). The rows are some of the set's.
func (q Recipe) Fit(s *Set, rows []*Row) (*Model, error) {
	elements := len(s.Names)
	p, turn, err := newProblem(q, rows, s.Moves, elements)
	if err != nil {
		return nil, err
	}
	start := make([]float64, p.params)
	settings := &optimize.Settings{MajorIterations: q.Iterations, GradientThreshold: 1e-6,
		Converger: &optimize.FunctionConverge{Relative: 1e-7, Iterations: 10}}
	res, err := optimize.Minimize(optimize.Problem{
		Func: func(v []float64) float64 { return p.at(v).loss },
		Grad: func(g, v []float64) { copy(g, p.at(v).gradient) },
	}, start, settings, &optimize.LBFGS{Store: 12})
	if res == nil {
		return nil, fmt.Errorf("fit: %w", err)
	}
	w := blas64.General{Rows: p.x.Cols, Cols: len(Roles), Stride: len(Roles), Data: p.total(res.X)}
	back := blas64.General{Rows: w.Rows, Cols: w.Cols, Stride: w.Stride, Data: make([]float64, len(w.Data))}
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, turn, w, 0, back)
	return &Model{Elements: elements, Weights: centred(back.Data)}, nil
}

type problem struct {
	x       blas64.General
	weight  []float64
	role    []int
	member  [3][]int
	offset  [3]int
	params  int
	shrink  []float64
	last    []float64
	answer  answer
	p, diff blas64.General
}

type answer struct {
	loss     float64
	gradient []float64
}

func newProblem(q Recipe, rows []*Row, moves []Move, elements int) (*problem, blas64.General, error) {
	x, turn, err := q.carriedOver(rows, moves, design(rows, elements))
	if err != nil {
		return nil, turn, err
	}
	p := &problem{x: x, weight: q.weigh(rows)}
	var size [3]int
	p.member, size = levels()
	tracks := map[string]bool{}
	for _, r := range rows {
		p.role = append(p.role, r.Role)
		tracks[r.Body+"/"+r.File] = true
	}
	d := p.x.Cols
	for l := range size {
		p.offset[l] = p.params
		p.params += size[l] * d
	}
	p.shrink = make([]float64, p.params)
	for l := range size {
		for k := range size[l] {
			s := q.Shrink / float64(len(tracks))
			voices := len(Families) - 2
			if l == 1 && k >= voices || l == 2 && familyOfRole[k] >= voices {
				s *= q.Alike
			}
			for e := range d {
				p.shrink[p.offset[l]+k*d+e] = s
			}
			p.shrink[p.offset[l]+k*d+d-1] = 0.02 * s // the bias is hardly shrunk
		}
	}
	n, roles := len(rows), len(Roles)
	p.p = blas64.General{Rows: n, Cols: roles, Stride: roles, Data: make([]float64, n*roles)}
	p.diff = blas64.General{Rows: n, Cols: roles, Stride: roles, Data: make([]float64, n*roles)}
	return p, turn, nil
}

// total adds up the parts of each role: (2 elements + 1) x roles.
func (p *problem) total(v []float64) []float64 {
	d, roles := p.x.Cols, len(Roles)
	w := make([]float64, d*roles)
	for l := range p.member {
		for r, k := range p.member[l] {
			part := v[p.offset[l]+k*d:][:d]
			for e, x := range part {
				w[e*roles+r] += x
			}
		}
	}
	return w
}

// at returns loss and gradient; the last place asked for is remembered.
func (p *problem) at(v []float64) answer {
	if p.last != nil && equal(p.last, v) {
		return p.answer
	}
	p.last = append(p.last[:0], v...)
	d, roles := p.x.Cols, len(Roles)
	w := blas64.General{Rows: d, Cols: roles, Stride: roles, Data: p.total(v)}
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, p.x, w, 0, p.p)
	var loss float64
	for i := range p.role {
		loss += p.weight[i] * p.row(i)
	}
	g := blas64.General{Rows: d, Cols: roles, Stride: roles, Data: make([]float64, d*roles)}
	blas64.Gemm(blas.Trans, blas.NoTrans, 1, p.x, p.diff, 0, g)
	gradient := make([]float64, p.params)
	for l := range p.member {
		for r, k := range p.member[l] {
			part := gradient[p.offset[l]+k*d:][:d]
			for e := range part {
				part[e] += g.Data[e*roles+r]
			}
		}
	}
	for i, x := range v {
		loss += 0.5 * p.shrink[i] * x * x
		gradient[i] += p.shrink[i] * x
	}
	p.answer = answer{loss, gradient}
	return p.answer
}

// row turns the log odds of a row into probabilities, writes the derivatives and returns the mean of the three losses.
func (p *problem) row(i int) float64 {
	roles := len(Roles)
	prob, diff := p.p.Data[i*roles:][:roles], p.diff.Data[i*roles:][:roles]
	softmax(prob)
	clear(diff)
	var loss float64
	for l := range p.member {
		own := p.member[l][p.role[i]]
		sum := 1e-12
		for r, k := range p.member[l] {
			if k == own {
				sum += prob[r]
			}
		}
		loss -= math.Log(sum) / 3
		for r, k := range p.member[l] {
			d := prob[r]
			if k == own {
				d -= prob[r] / sum
			}
			diff[r] += p.weight[i] * d / 3
		}
	}
	return loss
}

func equal(a, b []float64) bool {
	for i := range a {
		if a[i] != b[i] {
			return false
		}
	}
	return len(a) == len(b)
}

func softmax(p []float64) {
	top := math.Inf(-1)
	for _, v := range p {
		top = math.Max(top, v)
	}
	var sum float64
	for i, v := range p {
		p[i] = math.Exp(v - top)
		sum += p[i]
	}
	for i := range p {
		p[i] /= sum
	}
}

// centred takes the mean over the roles off each element's weights, which changes no probability.
func centred(w []float64) []float64 {
	roles := len(Roles)
	for at := 0; at < len(w); at += roles {
		var mean float64
		for _, v := range w[at : at+roles] {
			mean += v / float64(roles)
		}
		for i := range roles {
			w[at+i] -= mean
		}
	}
	return w
}

// Probabilities returns a row per row, a column per role.
func (m *Model) Probabilities(rows []*Row) [][]float64 {
	x := design(rows, m.Elements)
	roles := len(Roles)
	w := blas64.General{Rows: x.Cols, Cols: roles, Stride: roles, Data: m.Weights}
	p := blas64.General{Rows: x.Rows, Cols: roles, Stride: roles, Data: make([]float64, x.Rows*roles)}
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, x, w, 0, p)
	out := make([][]float64, len(rows))
	for i := range out {
		out[i] = p.Data[i*roles:][:roles]
		softmax(out[i])
	}
	return out
}
