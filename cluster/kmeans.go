package cluster

import (
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// Defaults that stand in for zero fields of Options.
const (
	DefaultRestarts      = 100
	DefaultMaxIterations = 100
)

// Options are the constraints and the effort of KMeans. The zero value means no
// constraint, DefaultRestarts restarts and seed 0.
type Options struct {
	// Weights holds one finite weight > 0 per observation; nil means 1 each.
	Weights []float64
	// MustLink lists groups of observations that share a cluster. Groups that
	// overlap act as one.
	MustLink [][]int
	// CannotLink lists pairs of observations that lie in different clusters.
	CannotLink [][2]int
	// Pin maps an observation to the cluster it must lie in.
	Pin map[int]int
	// MinSize and MaxSize bound the number of observations in each cluster.
	// MinSize 0 allows empty clusters, MaxSize 0 sets no upper bound.
	MinSize, MaxSize int
	// Loads holds one finite load >= 0 per observation and Caps the greatest
	// sum of loads each of the k clusters may carry (+Inf: any). Both or
	// neither are given.
	Loads, Caps []float64
	// Restarts is the number of seeded starts, of which the best is kept.
	Restarts int
	// MaxIterations bounds the sweeps over all observations in one start.
	MaxIterations int
	// Seed selects the random numbers of the seeding.
	Seed uint64
}

// Result is a partition of n observations into at most k clusters.
type Result struct {
	// Labels holds the cluster of each observation, 0..k-1. Clusters that no
	// pin and no cap of their own tells apart are numbered in lexicographic
	// order of their centres, empty ones last.
	Labels []int
	// Centers is k x d, the weighted mean of each cluster; NaN in the rows of
	// empty clusters.
	Centers *mat.Dense
	// Sizes holds the number of observations in each of the k clusters.
	Sizes []int
	// Used is the number of clusters that are not empty.
	Used int
	// WithinSS is the weighted sum of squared distances of the observations
	// from their centres, Parts the share of each of the k clusters in it.
	WithinSS float64
	Parts    []float64
	// Iterations is the number of sweeps the best start took, and Converged
	// tells whether it ended because no move helped.
	Iterations int
	Converged  bool
}

// KMeans partitions the n rows of x (n x d) into k clusters so that the
// weighted within-cluster sum of squares is as small as a search of many
// restarts can make it, under the constraints of opt.
//
// Must-linked observations become one weighted point, whose own scatter is
// added back, so that every figure of the Result is that of the original rows.
// Each restart is seeded by k-means++ (Arthur and Vassilvitskii, SODA 2007),
// runs Lloyd's iterations (IEEE Trans. Inf. Theory 28, 1982) when only
// must-links and pins bind, and ends with an exchange in which single points
// move and pairs of points trade places by the exact change of the objective
// (Hartigan and Wong, Appl. Stat. 28, 1979) until nothing helps; with coupling
// constraints a point may also push another on into a third cluster.
//
// A cluster is left empty only if x has fewer distinct points than k or the
// constraints demand it; Result.Used says how many clusters are in use. Set
// MinSize to 1 to have that refused instead.
//
// Rows are sorted by content before anything random happens, so permuting the
// rows (and the constraints with them) permutes the labels and changes nothing
// else, except between rows that are equal in content, weight and load.
//
// Errors: no rows or columns, a value that is not finite, k < 1, options out of
// range; *InfeasibleError, which names observations, if no partition meets the
// constraints.
//
// Distances between all m points left after merging are kept: O(m^2) memory,
// O(m^2 d) time once, then about O(m^2 + mk) per sweep of a restart, whatever
// d is. Intended for up to a few thousand observations.
func KMeans(x mat.Matrix, k int, opt Options) (*Result, error) {
	p, err := newProblem(x, k, opt)
	if err != nil {
		return nil, err
	}
	var base []int // some feasible labelling, where finding one is hard
	if p.coupled {
		if base, err = p.anyFeasible(); err != nil {
			return nil, err
		}
	}
	restarts, maxSweeps := opt.Restarts, opt.MaxIterations
	if restarts == 0 {
		restarts = DefaultRestarts
	}
	if maxSweeps == 0 {
		maxSweeps = DefaultMaxIterations
	}
	var (
		best    = make([]int, p.m)
		bestSS  = math.Inf(1)
		bestRun run
		st      = newState(p)
	)
	for r := range restarts {
		rng := rand.New(rand.NewPCG(opt.Seed, uint64(r)))
		st.reset(p.start(rng, base))
		done := st.descend(maxSweeps)
		if ss := st.total(); ss < bestSS-p.tol || math.IsInf(bestSS, 1) {
			bestSS, bestRun = ss, done
			copy(best, st.label)
		}
		if p.tol == 0 {
			break // all points coincide: every partition is as good
		}
	}
	return p.result(best, bestRun), nil
}
