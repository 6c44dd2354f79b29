package cluster

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Expected values: scipy 1.10.1 linkage(x, "ward"), heights squared over two,
// and scikit-learn 1.2.1 (testdata/reference.py).
func TestWardIris(t *testing.T) {
	x, species := loadIris(t)
	h, err := Ward(x, nil, nil)
	require.NoError(t, err)
	require.Len(t, h.Merges, 149)
	var top []float64
	var sum float64
	for _, m := range h.Merges {
		sum += m.Increase
	}
	for _, m := range h.Merges[143:] {
		top = append(top, m.Increase)
	}
	assert.InDeltaSlice(t, []float64{4.11677879, 7.32699343, 11.75013889, 20.47620382, 75.64987153, 526.42360000}, top, 1e-8)
	assert.InDelta(t, 681.3706, sum, 1e-9, "the increases add up to the total sum of squares")
	assert.Equal(t, 150, h.Merges[148].Size)

	labels, err := h.Cut(3)
	require.NoError(t, err)
	ari, err := AdjustedRand(species, labels)
	require.NoError(t, err)
	assert.InDelta(t, 0.731199, ari, 1e-6)
	within, err := WithinSS(x, labels, nil)
	require.NoError(t, err)
	assert.InDelta(t, 79.297128, within, 1e-6)
	_, groups, _ := groupLabels(labels)
	var sizes []int
	for _, g := range groups {
		sizes = append(sizes, len(g))
	}
	assert.ElementsMatch(t, []int{36, 50, 64}, sizes)
	assert.Equal(t, labels, h.CutAt(50))
	assert.Equal(t, make([]int, 150), h.CutAt(1000))
}

// Against the definition: every step merges the pair that adds least to the
// within-cluster sum of squares of the rows, in weight and under must-link.
func TestWardIsGreedyOnTheSumOfSquares(t *testing.T) {
	rng := rand.New(rand.NewPCG(8, 8))
	for range 20 {
		x := noise(12, 3, rng.Uint64())
		w := make([]float64, 12)
		for i := range w {
			w[i] = 0.2 + rng.ExpFloat64()
		}
		links := [][]int{{0, 5, 7}, {2, 3}}
		h, err := Ward(x, w, links)
		require.NoError(t, err)
		require.Len(t, h.Leaves, 9)
		for k := 9; k > 1; k-- {
			labels, err := h.Cut(k)
			require.NoError(t, err)
			for _, g := range links {
				for _, i := range g {
					assert.Equal(t, labels[g[0]], labels[i])
				}
			}
			before, err := WithinSS(x, labels, w)
			require.NoError(t, err)
			least := -1.0
			for a := range k {
				for b := range a {
					merged := make([]int, 12)
					for i, c := range labels {
						if merged[i] = c; c == a {
							merged[i] = b
						}
					}
					after, err := WithinSS(x, merged, w)
					require.NoError(t, err)
					if least < 0 || after-before < least {
						least = after - before
					}
				}
			}
			assert.InDelta(t, least, h.Merges[9-k].Increase, 1e-9)
		}
	}
}

func TestWardIgnoresTheOrderOfRows(t *testing.T) {
	x := noise(20, 2, 6)
	y := mat.NewDense(20, 2, nil)
	for i := range 20 {
		y.SetRow(19-i, x.RawRowView(i))
	}
	a, err := Ward(x, nil, [][]int{{0, 4}})
	require.NoError(t, err)
	b, err := Ward(y, nil, [][]int{{15, 19}})
	require.NoError(t, err)
	assert.Equal(t, a.Merges, b.Merges)
	la, err := a.Cut(5)
	require.NoError(t, err)
	lb, err := b.Cut(5)
	require.NoError(t, err)
	for i := range la {
		assert.Equal(t, la[i], lb[19-i])
	}
}

func TestWardEdges(t *testing.T) {
	one, err := Ward(mat.NewDense(1, 1, []float64{4}), nil, nil)
	require.NoError(t, err)
	assert.Empty(t, one.Merges)
	labels, err := one.Cut(1)
	require.NoError(t, err)
	assert.Equal(t, []int{0}, labels)
	_, err = one.Cut(2)
	assert.Error(t, err)
	_, err = one.Cut(0)
	assert.Error(t, err)
	_, err = Ward(&mat.Dense{}, nil, nil)
	assert.ErrorIs(t, err, ErrEmpty)
	_, err = Ward(mat.NewDense(1, 1, nil), []float64{-1}, nil)
	assert.Error(t, err)
	_, err = Ward(mat.NewDense(1, 1, nil), nil, [][]int{{0, 1}})
	assert.Error(t, err)
}
