package cluster

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Expected values: numpy 1.24.2 median and scipy 1.10.1
// median_abs_deviation x 1.4826.
func TestRobustScalingOfIris(t *testing.T) {
	x, _ := loadIris(t)
	_, s, err := Standardize(x, Robust)
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{5.8, 3, 4.35, 1.3}, s.Center, 1e-12)
	assert.InDeltaSlice(t, []float64{1.03782, 0.44478, 1.85325, 1.03782}, s.Spread, 1e-9)
}

// Expected values: by hand from the definitions.
func TestStandardizeColumns(t *testing.T) {
	for _, tc := range []struct {
		name           string
		column         []float64
		method         Method
		center, spread float64
	}{
		{"z-score", []float64{1, 3, 5, 7}, ZScore, 4, math.Sqrt(5)},
		{"median and deviation", []float64{1, 2, 4, 100}, Robust, 3, 1.4826 * 1.5},
		{"quartiles when most are equal", []float64{0, 0, 0, 0, 0, 4, 4, 4}, Robust, 0, 4 / 1.349},
		{"deviation when nearly all are equal", []float64{0, 0, 0, 0, 0, 0, 0, 8}, Robust, 0, math.Sqrt(7)},
		{"constant", []float64{0.1, 0.1, 0.1}, Robust, 0.1, 1},
		{"constant", []float64{0.1, 0.1, 0.1}, ZScore, 0.1, 1},
		{"one row", []float64{7}, ZScore, 7, 1},
	} {
		x := mat.NewDense(len(tc.column), 1, tc.column)
		out, s, err := Standardize(x, tc.method)
		require.NoError(t, err)
		assert.InDelta(t, tc.center, s.Center[0], 1e-12, tc.name)
		assert.InDelta(t, tc.spread, s.Spread[0], 1e-12, tc.name)
		for i, v := range tc.column {
			assert.InDelta(t, (v-tc.center)/tc.spread, out.At(i, 0), 1e-12, tc.name)
		}
	}
	_, _, err := Standardize(mat.NewDense(1, 1, []float64{math.NaN()}), Robust)
	assert.Error(t, err)
	_, _, err = Standardize(mat.NewDense(1, 1, nil), Method(7))
	assert.Error(t, err)
	_, _, err = Standardize(mat.NewDense(2, 1, []float64{-math.MaxFloat64, math.MaxFloat64}), ZScore)
	assert.Error(t, err)
	_, _, err = Standardize(&mat.Dense{}, ZScore)
	assert.ErrorIs(t, err, ErrEmpty)
}
