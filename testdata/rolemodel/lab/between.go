package lab

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"gonum.org/v1/gonum/blas"
	"gonum.org/v1/gonum/blas/blas64"
	"gonum.org/v1/gonum/mat"
)

// between is how the columns of x vary together from one body of material to the next while the role stays: the mean over
// roles heard in more than one body of the scatter of bodies about their role's mean. A body counts with the root of its tracks, of
// thirty at most.
func between(rows []*Row, x blas64.General) *mat.SymDense {
	d := x.Cols - 1 // without the constant
	type part struct {
		sum    []float64
		n      float64
		weight float64
	}
	bodies, order := map[string]*part{}, []string{}
	for i, r := range rows {
		name := r.Body + "|" + strconv.Itoa(r.Role)
		p := bodies[name]
		if p == nil {
			p = &part{sum: make([]float64, d)}
			bodies[name], order = p, append(order, name)
		}
		p.n++
		for j, v := range x.Data[i*x.Stride:][:d] {
			p.sum[j] += v
		}
	}
	out := mat.NewSymDense(d, nil)
	var total float64
	for role := range Roles {
		var mine []*part
		for _, name := range order {
			if strings.HasSuffix(name, "|"+strconv.Itoa(role)) {
				mine = append(mine, bodies[name])
			}
		}
		if len(mine) < 2 {
			continue
		}
		centre, sum := make([]float64, d), 0.0
		for _, p := range mine {
			p.weight = math.Sqrt(min(p.n/rowsPerTrack, 30))
			sum += p.weight
			for j := range p.sum {
				p.sum[j] /= p.n
				centre[j] += p.weight * p.sum[j]
			}
		}
		for _, p := range mine {
			for j := range p.sum {
				p.sum[j] -= centre[j] / sum
			}
			out.SymRankOne(out, p.weight, mat.NewVecDense(d, p.sum))
		}
		total += sum
	}
	if total > 0 {
		out.ScaleSym(1/total, out)
	}
	return out
}

const rowsPerTrack = 3 // the whole and its halves

// within is how the columns of x vary together within a track: the mean over tracks of the scatter of the whole and its halves.
func within(rows []*Row, x blas64.General) *mat.SymDense {
	d := x.Cols - 1
	tracks := map[string][]int{}
	var order []string
	for i, r := range rows {
		name := r.Body + "/" + r.File
		if tracks[name] == nil {
			order = append(order, name)
		}
		tracks[name] = append(tracks[name], i)
	}
	apart := blas64.General{Rows: len(rows), Cols: d, Stride: d, Data: make([]float64, len(rows)*d)}
	for _, name := range order {
		mine := tracks[name]
		scale := 1 / math.Sqrt(float64(len(mine)*len(order)))
		for j := range d {
			var mean float64
			for _, i := range mine {
				mean += x.Data[i*x.Stride+j] / float64(len(mine))
			}
			for _, i := range mine {
				apart.Data[i*d+j] = scale * (x.Data[i*x.Stride+j] - mean)
			}
		}
	}
	out := mat.NewSymDense(d, nil)
	a := mat.NewDense(len(rows), d, apart.Data)
	out.SymOuterK(1, a.T())
	return out
}

// Move is a track as it was measured plain and after its file had been changed in a way that leaves the sound what it is.
type Move struct {
	Body        string
	Plain, Then []int8 // as Row.Code
}

// moved is how the columns of the design vary together when only the file changes: the mean over moves of bodies among the rows.
func moved(moves []Move, rows []*Row, elements int) *mat.SymDense {
	among := map[string]bool{}
	for _, r := range rows {
		among[r.Body] = true
	}
	var plain, then []*Row
	for _, m := range moves {
		if among[m.Body] {
			plain, then = append(plain, &Row{Code: m.Plain}), append(then, &Row{Code: m.Then})
		}
	}
	d := 2 * elements
	out := mat.NewSymDense(d, nil)
	if len(plain) == 0 {
		return out
	}
	x, y := design(plain, elements), design(then, elements)
	for i, v := range y.Data {
		x.Data[i] -= v
	}
	apart := mat.NewDense(len(plain), d+1, x.Data).Slice(0, len(plain), 0, d)
	out.SymOuterK(1/float64(len(plain)), apart.T())
	return out
}

// carriedOver turns the columns of x so that a direction of scatter s is worth 1/sqrt(1 + s) of one without, s being Between times
// that of bodies, Within times that of halves of a track and Moved times that of a file that changes: shrinkage then prefers weights
// that carry over from one body to the next and from one half or file to the other (within-class covariance normalisation, Hatch,
// Kajarekar and Stolcke 2006, with bodies for sessions). It returns the turned rows, and the turn by which weights go back.
func (q Recipe) carriedOver(rows []*Row, moves []Move, x blas64.General) (turned, turn blas64.General, err error) {
	scatter := between(rows, x)
	scatter.ScaleSym(q.Between, scatter)
	add := func(weight float64, s *mat.SymDense) {
		s.ScaleSym(weight, s)
		scatter.AddSym(scatter, s)
	}
	add(q.Within, within(rows, x))
	add(q.Moved, moved(moves, rows, (x.Cols-1)/2))
	var eigen mat.EigenSym
	if !eigen.Factorize(scatter, true) {
		return x, x, fmt.Errorf("scatter of the elements: no eigenvalues found")
	}
	var u, scaled, a mat.Dense
	eigen.VectorsTo(&u)
	scaled.CloneFrom(&u)
	for j, v := range eigen.Values(nil) {
		f := 1 / math.Sqrt(1+math.Max(0, v))
		for i := range x.Cols - 1 {
			scaled.Set(i, j, f*u.At(i, j))
		}
	}
	a.Mul(&scaled, u.T())
	turn = blas64.General{Rows: x.Cols, Cols: x.Cols, Stride: x.Cols, Data: make([]float64, x.Cols*x.Cols)}
	for i := range x.Cols - 1 {
		for j := range x.Cols - 1 {
			turn.Data[i*x.Cols+j] = a.At(i, j)
		}
	}
	turn.Data[len(turn.Data)-1] = 1
	turned = blas64.General{Rows: x.Rows, Cols: x.Cols, Stride: x.Cols, Data: make([]float64, x.Rows*x.Cols)}
	blas64.Gemm(blas.NoTrans, blas.NoTrans, 1, x, turn, 0, turned)
	return turned, turn, nil
}
