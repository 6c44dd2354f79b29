package cluster

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/mat"
)

// DefaultRuns stands in for StabilityOptions.Runs = 0.
const DefaultRuns = 100

// StabilityOptions are the settings of Stability.
type StabilityOptions struct {
	// Runs is the number of resampled partitions.
	Runs int
	// Blocks lists columns that are drawn together, such as the bands of one
	// spectrum; each column in no block is a block of its own. A block counts
	// as often as it is drawn.
	Blocks [][]int
	// KMeans holds the constraints, and the restarts of each run (0 means
	// DefaultManyStarts here); its Seed is not used.
	KMeans Options
	// Seed selects the random numbers of the resampling.
	Seed uint64
}

// Firmness tells for each of n observations how firmly it sits in its cluster.
type Firmness struct {
	// Stayed is the share of the runs, 0..1, in which the observation lay in
	// its cluster of the partition tested.
	Stayed []float64
	// RunnerUp is the cluster it lay in most often otherwise, the lesser number
	// of equals, or -1 if it never left; RunnerUpShare is the share of the runs
	// in which it did.
	RunnerUp      []int
	RunnerUpShare []float64
}

// Stability tests the partition labels (each 0..k-1) of the rows of x (n x d)
// by clustering anew, in each run, columns drawn with replacement (a bootstrap
// over dimensions, after Efron, Ann. Stat. 7, 1979) from a new seed, and
// matching the clusters found with those given (MatchLabels). It measures how
// far the place of an observation depends on the choice of dimensions and on
// chance in the search.
//
// With a single block the columns never differ and only the search does.
// Cost: Runs times KMeans.
func Stability(x mat.Matrix, k int, labels []int, opt StabilityOptions) (*Firmness, error) {
	rows, err := rowsOf(x)
	if err != nil {
		return nil, err
	}
	n, d := len(rows), len(rows[0])
	if len(labels) != n {
		return nil, fmt.Errorf("cluster: %d labels for %d observations", len(labels), n)
	}
	for i, c := range labels {
		if c < 0 || c >= k {
			return nil, fmt.Errorf("cluster: label of observation %d is %d, want 0..%d", i, c, k-1)
		}
	}
	if opt.Runs < 0 {
		return nil, fmt.Errorf("cluster: %d runs", opt.Runs)
	}
	blocks, err := columnBlocks(d, opt.Blocks)
	if err != nil {
		return nil, err
	}
	runs := opt.Runs
	if runs == 0 {
		runs = DefaultRuns
	}
	counts := make([]int, n*k)
	for r := range runs {
		rng := rand.New(rand.NewPCG(opt.Seed, uint64(r)))
		km := opt.KMeans
		km.Seed = rng.Uint64()
		if km.Restarts == 0 {
			km.Restarts = DefaultManyStarts
		}
		res, err := KMeans(resample(rng, rows, blocks), k, km)
		if err != nil {
			return nil, err
		}
		rename, err := MatchLabels(labels, res.Labels)
		if err != nil {
			return nil, err
		}
		for i, c := range res.Labels {
			counts[i*k+rename[c]]++
		}
	}
	f := &Firmness{Stayed: make([]float64, n), RunnerUp: make([]int, n), RunnerUpShare: make([]float64, n)}
	for i, own := range labels {
		f.RunnerUp[i] = -1
		most := 0
		for c, count := range counts[i*k : (i+1)*k] {
			if c != own && count > most {
				most, f.RunnerUp[i] = count, c
			}
		}
		f.Stayed[i] = float64(counts[i*k+own]) / float64(runs)
		f.RunnerUpShare[i] = float64(most) / float64(runs)
	}
	return f, nil
}

// columnBlocks completes the blocks with the columns that are in none.
func columnBlocks(d int, blocks [][]int) ([][]int, error) {
	seen := make([]bool, d)
	var all [][]int
	for b, block := range blocks {
		for _, j := range block {
			if j < 0 || j >= d || seen[j] {
				return nil, fmt.Errorf("cluster: block %d holds column %d, which is not one of %d or is in a block already", b, j, d)
			}
			seen[j] = true
		}
		if len(block) > 0 {
			all = append(all, block)
		}
	}
	for j := range d {
		if !seen[j] {
			all = append(all, []int{j})
		}
	}
	return all, nil
}

// resample draws as many blocks as there are, with replacement. A block drawn c
// times is scaled by sqrt(c), so that it adds c times its squared distance.
func resample(rng *rand.Rand, rows [][]float64, blocks [][]int) *mat.Dense {
	drawn := make([]int, len(blocks))
	for range blocks {
		drawn[rng.IntN(len(blocks))]++
	}
	var columns []int
	var factor []float64
	for b, c := range drawn {
		if c == 0 {
			continue
		}
		for _, j := range blocks[b] {
			columns = append(columns, j)
			factor = append(factor, math.Sqrt(float64(c)))
		}
	}
	out := mat.NewDense(len(rows), len(columns), nil)
	for i, row := range rows {
		for at, j := range columns {
			out.Set(i, at, row[j]*factor[at])
		}
	}
	return out
}
