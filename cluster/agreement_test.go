package cluster

import (
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

func digits(s string) []int {
	out := make([]int, len(s))
	for i, r := range s {
		out[i] = int(r - '0')
	}
	return out
}

func TestAgreementWorkedExamples(t *testing.T) {
	for _, tc := range []struct {
		a, b         string
		ri, ari, nmi float64
		source       string
	}{
		{"0011", "0012", 5.0 / 6, 4.0 / 7, 0.8, "scikit-learn 1.2.1 documentation of adjusted_rand_score; NMI computed with it"},
		{"000111", "001122", 2.0 / 3, 8.0 / 33, -1, "by hand from the formula; scikit-learn 1.2.1"},
		{"0011", "0101", 1.0 / 3, -0.5, 0, "scikit-learn 1.2.1"},
		{"00000011111122222", "00000100001112022", 0.676471, 0.242915, 0.364562,
			"Manning, Raghavan, Schuetze 2008, chapter 16: (x5 o1), (x1 o4 d1), (x2 d3); scikit-learn 1.2.1"},
		{"0000", "0000", 1, 1, 1, "equal"},
		{"0123", "3210", 1, 1, 1, "equal but for names"},
		{"0", "5", 1, 1, 1, "a single observation"},
		{"0000", "0123", 0, 0, 0, "all together against all apart"},
	} {
		a, b := digits(tc.a), digits(tc.b)
		if strings.Contains(tc.source, "Manning") {
			// Clusters of 6, 6, 5; classes x = 0, o = 1, d = 2.
			b = digits("00000" + "1" + "0" + "1111" + "2" + "00" + "222")
		}
		for range 2 {
			ri, err := Rand(a, b)
			require.NoError(t, err)
			assert.InDelta(t, tc.ri, ri, 1e-6, tc.source)
			ari, err := AdjustedRand(a, b)
			require.NoError(t, err)
			assert.InDelta(t, tc.ari, ari, 1e-6, tc.source)
			if nmi, err := NMI(a, b); assert.NoError(t, err) && tc.nmi >= 0 {
				assert.InDelta(t, tc.nmi, nmi, 1e-6, tc.source)
			}
			a, b = b, a // all three are symmetric
		}
	}
	for _, f := range []func(a, b []int) (float64, error){Rand, AdjustedRand, NMI} {
		_, err := f([]int{0}, []int{0, 1})
		assert.Error(t, err)
		_, err = f(nil, nil)
		assert.ErrorIs(t, err, ErrEmpty)
	}
}

// Expected values: scipy 1.10.1, linear_sum_assignment (testdata/reference.py),
// and the example of its documentation.
func TestAssign(t *testing.T) {
	cols, total, err := Assign(mat.NewDense(3, 5, []float64{7, 53, 183, 439, 863, 497, 383, 563, 79, 973, 287, 63, 343, 169, 583}))
	require.NoError(t, err)
	assert.Equal(t, []int{0, 3, 1}, cols)
	assert.Equal(t, 149.0, total)
	cols, total, err = Assign(mat.NewDense(3, 3, []float64{4, 1, 3, 2, 0, 5, 3, 2, 2}))
	require.NoError(t, err)
	assert.Equal(t, []int{1, 0, 2}, cols)
	assert.Equal(t, 5.0, total)

	_, _, err = Assign(mat.NewDense(2, 1, nil))
	assert.Error(t, err)
	cols, total, err = Assign(&mat.Dense{})
	require.NoError(t, err)
	assert.Empty(t, cols)
	assert.Zero(t, total)
}

func TestAssignAgainstAllPermutations(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	for range 200 {
		r := 1 + rng.IntN(4)
		c := r + rng.IntN(3)
		cost := mat.NewDense(r, c, nil)
		cost.Apply(func(_, _ int, _ float64) float64 { return float64(rng.IntN(21) - 10) }, cost)
		best := 1e9
		var try func(i int, used []bool, sum float64)
		try = func(i int, used []bool, sum float64) {
			if i == r {
				best = min(best, sum)
				return
			}
			for j := range c {
				if !used[j] {
					used[j] = true
					try(i+1, used, sum+cost.At(i, j))
					used[j] = false
				}
			}
		}
		try(0, make([]bool, c), 0)
		cols, total, err := Assign(cost)
		require.NoError(t, err)
		assert.InDelta(t, best, total, 1e-9)
		assert.Len(t, slices.Compact(slices.Sorted(slices.Values(cols))), r)
	}
}

// Expected values: invented, plain to see.
func TestMatchLabels(t *testing.T) {
	for _, tc := range []struct{ reference, labels, want string }{
		{"001122", "221100", "210"},
		{"001122", "001122", "012"},
		{"0001", "2223", "2301"}, // 2 -> 0, 3 -> 1, the unused give way
		{"0101", "0011", "01"},   // a tie: names stay
		{"", "", ""},
	} {
		got, err := MatchLabels(digits(tc.reference), digits(tc.labels))
		require.NoError(t, err)
		assert.Equal(t, len(tc.want), len(got))
		for i, c := range digits(tc.labels) {
			assert.Equal(t, digits(tc.want)[c], got[c], "%s against %s at %d", tc.labels, tc.reference, i)
		}
	}
	_, err := MatchLabels([]int{0}, []int{0, 1})
	assert.Error(t, err)
	_, err = MatchLabels([]int{0, 0}, []int{0, -1})
	assert.Error(t, err)
}
