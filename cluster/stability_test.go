package cluster

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

func TestStabilityOfClearAndOfUnclearRows(t *testing.T) {
	// Two far groups in all of eight dimensions, and a row halfway between that
	// four dimensions pull one way and four the other; invented.
	x := mat.NewDense(21, 8, nil)
	spread := noise(20, 8, 9)
	labels := make([]int, 21)
	for i := range 20 {
		labels[i] = i % 2
		for j := range 8 {
			x.Set(i, j, 10*float64(i%2)+spread.At(i, j))
		}
	}
	for j := range 8 {
		x.Set(20, j, 10*float64(j%2))
	}
	opt := StabilityOptions{Runs: 200, Seed: 1}
	f, err := Stability(x, 2, labels, opt)
	require.NoError(t, err)
	for i := range 20 {
		assert.Equal(t, 1.0, f.Stayed[i])
		assert.Equal(t, -1, f.RunnerUp[i])
		assert.Zero(t, f.RunnerUpShare[i])
	}
	// By symmetry 1/2, with ties somewhere between: a binomial share of 200
	// runs is within 0.35..0.65 but for one case in ten thousand.
	assert.InDelta(t, 0.5, f.Stayed[20], 0.25)
	assert.Equal(t, 1, f.RunnerUp[20])
	assert.InDelta(t, 1, f.Stayed[20]+f.RunnerUpShare[20], 1e-12)
	again, err := Stability(x, 2, labels, opt)
	require.NoError(t, err)
	assert.Equal(t, f, again)

	// With all columns in one block nothing is resampled.
	opt.Blocks = [][]int{{0, 1, 2, 3, 4, 5, 6, 7}}
	whole, err := Stability(x, 2, labels, opt)
	require.NoError(t, err)
	assert.Contains(t, []float64{0, 1}, whole.Stayed[20])

	// A tie and a pin hold in every run.
	opt.Blocks = nil
	opt.KMeans = Options{MustLink: [][]int{{0, 20}}, Pin: map[int]int{0: 0}}
	tied, err := Stability(x, 2, labels, opt)
	require.NoError(t, err)
	assert.Equal(t, 1.0, tied.Stayed[20])
}

func TestStabilityRefusesBadInput(t *testing.T) {
	x := noise(4, 2, 1)
	labels := []int{0, 1, 0, 1}
	for name, f := range map[string]func() error{
		"few labels":     func() error { _, err := Stability(x, 2, labels[:3], StabilityOptions{}); return err },
		"label beyond k": func() error { _, err := Stability(x, 1, labels, StabilityOptions{}); return err },
		"negative runs":  func() error { _, err := Stability(x, 2, labels, StabilityOptions{Runs: -1}); return err },
		"column beyond d": func() error {
			_, err := Stability(x, 2, labels, StabilityOptions{Blocks: [][]int{{2}}})
			return err
		},
		"column twice": func() error {
			_, err := Stability(x, 2, labels, StabilityOptions{Blocks: [][]int{{0}, {0}}})
			return err
		},
		"infeasible": func() error {
			_, err := Stability(x, 2, labels, StabilityOptions{KMeans: Options{MaxSize: 1}})
			return err
		},
		"no rows": func() error { _, err := Stability(&mat.Dense{}, 1, nil, StabilityOptions{}); return err },
	} {
		assert.Error(t, f(), name)
	}
}

func TestDistanceTermsSumToTheDifference(t *testing.T) {
	x, a, b := []float64{1, 2, 3}, []float64{1, 0, 2}, []float64{4, 2, 3}
	terms, err := DistanceTerms(nil, x, a, b)
	require.NoError(t, err)
	// By hand: 9 - 0, 0 - 4, 0 - 1.
	assert.Equal(t, []float64{9, -4, -1}, terms)
	dst := make([]float64, 3)
	_, err = DistanceTerms(dst, x, b, a)
	require.NoError(t, err)
	assert.Equal(t, []float64{-9, 4, 1}, dst)
	_, err = DistanceTerms(make([]float64, 2), x, a, b)
	assert.Error(t, err)
	_, err = DistanceTerms(nil, x, a[:1], b)
	assert.Error(t, err)
}
