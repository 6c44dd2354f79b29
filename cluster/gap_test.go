package cluster

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// blobs returns each centre with normal noise of the given deviation, size rows
// a centre, and the label of each row.
func blobs(centers [][]float64, size int, deviation float64, seed uint64) (*mat.Dense, []int) {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := mat.NewDense(len(centers)*size, len(centers[0]), nil)
	var labels []int
	for i := range len(centers) * size {
		c := i % len(centers)
		for j, v := range centers[c] {
			x.Set(i, j, v+deviation*rng.NormFloat64())
		}
		labels = append(labels, c)
	}
	return x, labels
}

// The number of blobs is known; settings after the simulations (from memory) in
// Tibshirani et al. 2001, section 4: one uniform cluster in ten dimensions,
// three clusters in two, two elongated ones along a diagonal in three.
func TestGapFindsTheNumberOfBlobs(t *testing.T) {
	uniform := mat.NewDense(80, 10, nil)
	rng := rand.New(rand.NewPCG(1, 1))
	uniform.Apply(func(_, _ int, _ float64) float64 { return rng.Float64() }, uniform)
	three, _ := blobs([][]float64{{0, 0}, {0, 5}, {5, -3}}, 25, 1, 2)
	four, _ := blobs([][]float64{{0, 0, 0}, {20, 0, 0}, {20, 6, 0}, {0, 0, 6}}, 25, 1, 3)
	long := mat.NewDense(100, 3, nil)
	for i := range 100 {
		at := -0.5 + float64(i/2)/49 + 10*float64(i%2)
		for j := range 3 {
			long.Set(i, j, at+0.1*rng.NormFloat64())
		}
	}
	for _, tc := range []struct {
		name string
		x    *mat.Dense
		want int
	}{{"uniform", uniform, 1}, {"three", three, 3}, {"four", four, 4}, {"elongated", long, 2}} {
		for _, ref := range []Reference{UniformRange, UniformPrincipal} {
			if tc.name == "elongated" && ref == UniformRange {
				continue // the paper's own case against the plain range
			}
			points, err := Gap(tc.x, 5, GapOptions{Reference: ref, References: 10, Restarts: 2, Seed: 1})
			require.NoError(t, err)
			k, ok := SelectK(points)
			assert.True(t, ok)
			assert.Equal(t, tc.want, k, "%s, reference %d: %+v", tc.name, ref, points)
		}
	}
}

// Expected values: ln W of iris by scikit-learn 1.2.1. For k = 1 the expected W
// of the range reference is (n-1)/12 times the sum of the squared ranges, as
// the variance of a uniform variable is its squared range over 12.
func TestGapOfIris(t *testing.T) {
	x, _ := loadIris(t)
	points, err := Gap(x, 4, GapOptions{References: 40, Restarts: 5})
	require.NoError(t, err)
	require.Len(t, points, 4)
	for i, want := range []float64{6.524106, 5.026167, 4.367566, 4.047052} {
		assert.Equal(t, i+1, points[i].K)
		assert.InDelta(t, want, points[i].LogW, 1e-6)
		assert.InDelta(t, points[i].Reference-points[i].LogW, points[i].Gap, 1e-12)
	}
	ranges := []float64{7.9 - 4.3, 4.4 - 2.0, 6.9 - 1.0, 2.5 - 0.1}
	var sum float64
	for _, r := range ranges {
		sum += r * r
	}
	assert.InDelta(t, math.Log(149.0/12*sum), points[0].Reference, 5*points[0].Error/math.Sqrt(40)+0.002)
}

func TestGapEdges(t *testing.T) {
	_, err := Gap(mat.NewDense(5, 2, nil), 3, GapOptions{})
	assert.ErrorContains(t, err, "all equal")
	_, err = Gap(mat.NewDense(5, 2, nil), 0, GapOptions{})
	assert.Error(t, err)
	_, err = Gap(mat.NewDense(5, 2, nil), 2, GapOptions{Reference: 9})
	assert.Error(t, err)
	_, err = Gap(mat.NewDense(2, 1, []float64{0, math.Inf(1)}), 2, GapOptions{})
	assert.Error(t, err)
	points, err := Gap(mat.NewDense(6, 1, []float64{0, 0, 0, 4, 4, 4}), 5, GapOptions{References: 5, Reference: UniformPrincipal})
	require.NoError(t, err)
	assert.Len(t, points, 1, "at k = 2 no scatter is left")
	k, ok := SelectK(points)
	assert.Equal(t, 1, k)
	assert.False(t, ok)
	k, ok = SelectK(nil)
	assert.Zero(t, k)
	assert.False(t, ok)
	wide, err := Gap(noise(4, 9, 1), 10, GapOptions{References: 5, Reference: UniformPrincipal})
	require.NoError(t, err)
	assert.Len(t, wide, 3, "more dimensions than rows; k up to n-1")
}

func TestGapIgnoresTheOrderOfRows(t *testing.T) {
	x, _ := blobs([][]float64{{0, 0}, {6, 1}}, 10, 1, 5)
	y := mat.NewDense(20, 2, nil)
	for i := range 20 {
		y.SetRow(19-i, x.RawRowView(i))
	}
	for _, ref := range []Reference{UniformRange, UniformPrincipal} {
		opt := GapOptions{Reference: ref, References: 5, Seed: 3}
		a, err := Gap(x, 3, opt)
		require.NoError(t, err)
		b, err := Gap(y, 3, opt)
		require.NoError(t, err)
		assert.Equal(t, a, b)
	}
}
