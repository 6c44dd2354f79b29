package cluster

import (
	"fmt"
	"math"
	"math/rand/v2"
	"runtime"
	"slices"

	"golang.org/x/sync/errgroup"
	"gonum.org/v1/gonum/mat"
)

// Reference is the shapeless distribution that Gap compares with.
type Reference int

const (
	// UniformRange draws each column uniformly over the range of the data.
	UniformRange Reference = iota
	// UniformPrincipal does so along the principal axes of the data.
	UniformPrincipal
)

// Defaults that stand in for zero fields of GapOptions and, for the restarts of
// each of its many runs of KMeans, of StabilityOptions.
const (
	DefaultReferences = 50
	DefaultManyStarts = 10
)

// GapOptions are the settings of Gap. The zero value means UniformRange,
// DefaultReferences data sets, DefaultManyStarts restarts, seed 0.
type GapOptions struct {
	Reference  Reference
	References int // reference data sets drawn
	Restarts   int // of each k-means
	Seed       uint64
}

// GapPoint is the gap statistic at one number of clusters.
type GapPoint struct {
	K         int
	LogW      float64 // ln of the within-cluster sum of squares
	Reference float64 // its mean over the reference data sets
	Gap       float64 // Reference - LogW
	// Error is the standard deviation over the reference data sets (divisor B)
	// times sqrt(1 + 1/B).
	Error float64
}

// Gap returns the gap statistic of the rows of x (n x d) for k = 1..kMax
// (Tibshirani, Walther and Hastie, J. R. Stat. Soc. B 63, 2001): how much
// smaller the within-cluster sum of squares of k-means is than that of data
// without clusters. SelectK picks a k from it.
//
// It ends early, before the first k at which no scatter is left in the data, as
// ln 0 says nothing; kMax is also cut to n-1. It is an error if all rows are
// equal. Cost: about References x kMax runs of KMeans, on all cores.
func Gap(x mat.Matrix, kMax int, opt GapOptions) ([]GapPoint, error) {
	rows, err := rowsOf(x)
	if err != nil {
		return nil, err
	}
	if kMax < 1 || opt.References < 0 || opt.Restarts < 0 {
		return nil, fmt.Errorf("cluster: gap with kMax %d, %d references, %d restarts", kMax, opt.References, opt.Restarts)
	}
	b := opt.References
	if b == 0 {
		b = DefaultReferences
	}
	if opt.Restarts == 0 {
		opt.Restarts = DefaultManyStarts
	}
	draw, err := newReference(rows, opt.Reference)
	if err != nil {
		return nil, err
	}
	own, err := logWithin(x, min(kMax, len(rows)-1), opt)
	if err != nil {
		return nil, err
	}
	if len(own) == 0 {
		return nil, fmt.Errorf("cluster: gap of observations that are all equal")
	}
	refs := make([][]float64, b)
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for r := range refs {
		group.Go(func() (err error) {
			rng := rand.New(rand.NewPCG(opt.Seed, 1<<32+uint64(r)))
			refs[r], err = logWithin(draw(rng), len(own), opt)
			return err
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	for _, ref := range refs {
		own = own[:min(len(own), len(ref))]
	}
	points := make([]GapPoint, len(own))
	for k := range own {
		var mean, square float64
		for _, ref := range refs {
			mean += ref[k] / float64(b)
		}
		for _, ref := range refs {
			square += (ref[k] - mean) * (ref[k] - mean) / float64(b)
		}
		points[k] = GapPoint{
			K: k + 1, LogW: own[k], Reference: mean, Gap: mean - own[k],
			Error: math.Sqrt(square * (1 + 1/float64(b))),
		}
	}
	return points, nil
}

// logWithin returns ln W for k = 1, 2, ... while W is not 0.
func logWithin(x mat.Matrix, kMax int, opt GapOptions) ([]float64, error) {
	var logs []float64
	for k := 1; k <= kMax; k++ {
		res, err := KMeans(x, k, Options{Restarts: opt.Restarts, Seed: opt.Seed})
		if err != nil {
			return nil, err
		}
		if res.WithinSS == 0 {
			break
		}
		logs = append(logs, math.Log(res.WithinSS))
	}
	return logs, nil
}

// newReference returns a function that draws reference data of the shape of
// rows. The rows are sorted first, so that their order has no influence.
func newReference(rows [][]float64, kind Reference) (func(*rand.Rand) *mat.Dense, error) {
	n, d := len(rows), len(rows[0])
	sorted := slices.SortedFunc(slices.Values(rows), slices.Compare[[]float64])
	center := make([]float64, d)
	data := mat.NewDense(n, d, nil)
	for i, row := range sorted {
		data.SetRow(i, row)
		for j, v := range row {
			center[j] += v / float64(n)
		}
	}
	var axes mat.Dense // d x r, only for UniformPrincipal
	switch kind {
	case UniformRange:
		clear(center)
	case UniformPrincipal:
		data.Apply(func(_, j int, v float64) float64 { return v - center[j] }, data)
		var svd mat.SVD
		if !svd.Factorize(data, mat.SVDThin) {
			return nil, fmt.Errorf("cluster: no principal axes found for the gap reference")
		}
		svd.VTo(&axes)
		var scores mat.Dense
		scores.Mul(data, &axes)
		data = &scores
	default:
		return nil, fmt.Errorf("cluster: unknown gap reference %d", kind)
	}
	_, r := data.Dims()
	low, high := make([]float64, r), make([]float64, r)
	for j := range r {
		column := mat.Col(nil, j, data)
		low[j], high[j] = slices.Min(column), slices.Max(column)
	}
	return func(rng *rand.Rand) *mat.Dense {
		z := mat.NewDense(n, r, nil)
		z.Apply(func(_, j int, _ float64) float64 { return low[j] + (high[j]-low[j])*rng.Float64() }, z)
		if kind == UniformRange {
			return z
		}
		var out mat.Dense
		out.Mul(z, axes.T())
		out.Apply(func(_, j int, v float64) float64 { return v + center[j] }, &out)
		return &out
	}, nil
}

// SelectK returns the smallest k with Gap(k) >= Gap(k+1) - Error(k+1), the rule
// of the paper, which tends to few clusters: it stops at 1 where only a finer
// split gains, as with clusters at the corners of a regular solid. It returns
// the last k, with ok false, if none qualifies, and 0 and false for no points.
// Points run in steps of one, as Gap returns them.
func SelectK(points []GapPoint) (k int, ok bool) {
	for i, p := range points {
		if i+1 == len(points) {
			return p.K, false
		}
		if next := points[i+1]; p.Gap >= next.Gap-next.Error {
			return p.K, true
		}
	}
	return 0, false
}
