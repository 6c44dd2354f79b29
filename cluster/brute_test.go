package cluster

import (
	"errors"
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// bruteForce tries every one of the k^n labellings, straight from the
// definition, and returns the least weighted sum of squares among those that
// meet the constraints; +Inf if none does.
func bruteForce(x *mat.Dense, k int, opt Options) float64 {
	n, d := x.Dims()
	w := opt.Weights
	if w == nil {
		w = ones(n)
	}
	best := math.Inf(1)
	labels := make([]int, n)
	for {
		if meets(labels, k, opt) {
			var ss float64
			for c := range k {
				var sum float64
				mean := make([]float64, d)
				for i, l := range labels {
					if l == c {
						sum += w[i]
						for j := range mean {
							mean[j] += w[i] * x.At(i, j)
						}
					}
				}
				for i, l := range labels {
					if l == c {
						for j := range mean {
							e := x.At(i, j) - mean[j]/sum
							ss += w[i] * e * e
						}
					}
				}
			}
			best = min(best, ss)
		}
		i := 0
		for ; i < n && labels[i] == k-1; i++ {
			labels[i] = 0
		}
		if i == n {
			return best
		}
		labels[i]++
	}
}

func meets(labels []int, k int, opt Options) bool {
	size, load := make([]int, k), make([]float64, k)
	for i, c := range labels {
		size[c]++
		if opt.Loads != nil {
			load[c] += opt.Loads[i]
		}
		if want, ok := opt.Pin[i]; ok && want != c {
			return false
		}
	}
	for c := range k {
		if size[c] < opt.MinSize || opt.MaxSize > 0 && size[c] > opt.MaxSize {
			return false
		}
		if opt.Caps != nil && load[c] > opt.Caps[c]+1e-9 {
			return false
		}
	}
	for _, g := range opt.MustLink {
		for _, i := range g {
			if labels[i] != labels[g[0]] {
				return false
			}
		}
	}
	for _, p := range opt.CannotLink {
		if labels[p[0]] == labels[p[1]] {
			return false
		}
	}
	return true
}

func randomCase(rng *rand.Rand, what string) (*mat.Dense, int, Options) {
	n, k, d := 4+rng.IntN(5), 2+rng.IntN(2), 1+rng.IntN(3)
	x := mat.NewDense(n, d, nil)
	for i := range n {
		for j := range d {
			x.Set(i, j, rng.NormFloat64())
		}
	}
	var opt Options
	all := what == "all"
	if all || what == "weights" {
		opt.Weights = make([]float64, n)
		for i := range opt.Weights {
			opt.Weights[i] = 0.1 + rng.ExpFloat64()
		}
	}
	if all || what == "must-link" {
		opt.MustLink = [][]int{{rng.IntN(n), rng.IntN(n)}, {rng.IntN(n), rng.IntN(n)}}
	}
	if all || what == "cannot-link" {
		for range 1 + rng.IntN(4) {
			i := rng.IntN(n)
			opt.CannotLink = append(opt.CannotLink, [2]int{i, (i + 1 + rng.IntN(n-1)) % n})
		}
	}
	if all || what == "pin" {
		opt.Pin = map[int]int{rng.IntN(n): rng.IntN(k), rng.IntN(n): rng.IntN(k)}
	}
	if all || what == "size" {
		opt.MaxSize = (n+k-1)/k + rng.IntN(2)
		opt.MinSize = rng.IntN(n/k + 1)
	}
	if all || what == "load" {
		var sum float64
		for range n {
			opt.Loads = append(opt.Loads, rng.Float64())
			sum += opt.Loads[len(opt.Loads)-1]
		}
		for range k {
			opt.Caps = append(opt.Caps, sum/float64(k)*(1+0.5*rng.Float64()))
		}
	}
	return x, k, opt
}

func TestKMeansReachesBruteForceOptimum(t *testing.T) {
	for _, what := range []string{"none", "weights", "must-link", "cannot-link", "pin", "size", "load", "all"} {
		t.Run(what, func(t *testing.T) {
			rng := rand.New(rand.NewPCG(7, uint64(len(what))))
			feasible := 0
			for trial := range 40 {
				x, k, opt := randomCase(rng, what)
				name := fmt.Sprintf("trial %d, k = %d, %+v", trial, k, opt)
				want := bruteForce(x, k, opt)
				res, err := KMeans(x, k, opt)
				if math.IsInf(want, 1) {
					var inf *InfeasibleError
					assert.True(t, errors.As(err, &inf), "%s: %v", name, err)
					continue
				}
				require.NoError(t, err, name)
				feasible++
				assert.True(t, meets(res.Labels, k, opt), name)
				assert.InDelta(t, want, res.WithinSS, 1e-9*(1+want), name)
			}
			assert.Greater(t, feasible, 10)
		})
	}
}
