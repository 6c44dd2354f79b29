package cluster

import (
	"math"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// Expected values: scikit-learn 1.2.1 (testdata/reference.py).
func TestMeritsOfIrisPartitions(t *testing.T) {
	x, species := loadIris(t)
	total, err := TotalSS(x, nil)
	require.NoError(t, err)
	assert.InDelta(t, 681.3706, total, 1e-9)
	for _, want := range irisKMeans {
		if want.sizes == nil {
			continue
		}
		res, err := KMeans(x, want.k, Options{Seed: 1, Restarts: 30})
		require.NoError(t, err)
		within, err := WithinSS(x, res.Labels, nil)
		require.NoError(t, err)
		between, err := BetweenSS(x, res.Labels, nil)
		require.NoError(t, err)
		assert.InDelta(t, want.withinSS, within, 1e-8)
		assert.InDelta(t, total, within+between, 1e-9)
		ari, err := AdjustedRand(species, res.Labels)
		require.NoError(t, err)
		assert.InDelta(t, want.ari, ari, 1e-6)
		sil, err := Silhouette(x, res.Labels)
		require.NoError(t, err)
		assert.InDelta(t, want.sil, sil.Mean, 1e-6)
		ch, err := CalinskiHarabasz(x, res.Labels)
		require.NoError(t, err)
		db, err := DaviesBouldin(x, res.Labels)
		require.NoError(t, err)
		if want.k == 1 {
			assert.True(t, math.IsNaN(ch) && math.IsNaN(db), "one cluster has no ratio")
			continue
		}
		assert.InDelta(t, want.ch, ch, 1e-4)
		assert.InDelta(t, want.db, db, 1e-6)
	}
}

// Expected values: scikit-learn 1.2.1 (testdata/reference.py).
func TestIrisThreeClustersAgainstSpecies(t *testing.T) {
	x, species := loadIris(t)
	res, err := KMeans(x, 3, Options{Seed: 1})
	require.NoError(t, err)
	between, err := BetweenSS(x, res.Labels, nil)
	require.NoError(t, err)
	assert.InDelta(t, 0.88427525, between/681.3706, 1e-8)
	sil, err := Silhouette(x, res.Labels)
	require.NoError(t, err)
	mean := make([]float64, 3)
	for i, c := range res.Labels {
		mean[c] += sil.Widths[i] / float64(res.Sizes[c])
	}
	assert.InDeltaSlice(t, []float64{0.79814, 0.41732, 0.451105}, mean, 1e-6)
	ri, err := Rand(species, res.Labels)
	require.NoError(t, err)
	assert.InDelta(t, 0.879732, ri, 1e-6)
	nmi, err := NMI(species, res.Labels)
	require.NoError(t, err)
	assert.InDelta(t, 0.758176, nmi, 1e-6)
}

// Dissimilarities of 12 countries from Rousseeuw 1987, lower triangle, quoted
// from memory; the silhouettes below were computed from them by scikit-learn
// 1.2.1, and their means are the 0.28 and 0.33 that the paper prints.
const (
	countries = "BEL BRA CHI CUB EGY FRA IND ISR USA USS YUG ZAI"
)

var countryTriangle = [][]float64{
	{5.58},
	{7.00, 6.50},
	{7.08, 7.00, 3.83},
	{4.83, 5.08, 8.17, 5.83},
	{2.17, 5.75, 6.67, 6.92, 4.92},
	{6.42, 5.00, 5.58, 6.00, 4.67, 6.42},
	{3.42, 5.50, 6.42, 6.42, 5.00, 3.92, 6.17},
	{2.50, 4.92, 6.25, 7.33, 4.50, 2.25, 6.33, 2.75},
	{6.08, 6.67, 4.25, 2.67, 6.00, 6.17, 6.17, 6.92, 6.17},
	{5.25, 6.83, 4.50, 3.75, 5.75, 5.42, 6.08, 5.83, 6.67, 3.67},
	{4.75, 3.00, 6.08, 6.67, 5.00, 5.58, 4.83, 6.17, 5.67, 6.50, 6.92},
}

func TestSilhouetteOfRousseeuwsCountries(t *testing.T) {
	names := strings.Fields(countries)
	d := mat.NewSymDense(len(names), nil)
	for r, row := range countryTriangle {
		for c, v := range row {
			d.SetSym(r+1, c, v)
		}
	}
	for _, tc := range []struct {
		groups []string
		mean   float64
		widths map[string]float64
	}{
		{
			[]string{"CUB USS CHI YUG IND", "USA BEL FRA ISR BRA EGY ZAI"}, 0.2797,
			map[string]float64{
				"CUB": .398, "USS": .341, "CHI": .325, "YUG": .262, "IND": -.045, "USA": .425, "BEL": .391,
				"FRA": .352, "ISR": .298, "BRA": .223, "EGY": .197, "ZAI": .189,
			},
		},
		{
			[]string{"CUB USS YUG CHI", "USA FRA BEL ISR EGY", "ZAI BRA IND"}, 0.3301,
			map[string]float64{
				"CUB": .479, "USS": .437, "YUG": .313, "CHI": .307, "USA": .468, "FRA": .440, "BEL": .421,
				"ISR": .366, "EGY": .021, "ZAI": .280, "BRA": .255, "IND": .175,
			},
		},
	} {
		labels := make([]int, len(names))
		for i, name := range names {
			for g, members := range tc.groups {
				if strings.Contains(members, name) {
					labels[i] = g
				}
			}
		}
		s, err := SilhouetteFrom(d, labels)
		require.NoError(t, err)
		assert.InDelta(t, tc.mean, s.Mean, 5e-5)
		for i, name := range names {
			assert.InDelta(t, tc.widths[name], s.Widths[i], 5e-4, name)
			assert.NotEqual(t, labels[i], s.Neighbors[i])
		}
	}
}

// Expected values: from the definitions by hand.
func TestMeritsOfSmallCases(t *testing.T) {
	x := mat.NewDense(4, 1, []float64{0, 2, 10, 20})
	labels := []int{5, 5, 7, 9} // any integers will do
	s, err := Silhouette(x, labels)
	require.NoError(t, err)
	assert.InDeltaSlice(t, []float64{1 - 2.0/10, 1 - 2.0/8, 0, 0}, s.Widths, 1e-12, "singletons have width 0")
	assert.Equal(t, []int{7, 7, 5, 7}, s.Neighbors)
	w, err := WithinSS(x, labels, []float64{1, 3, 1, 1})
	require.NoError(t, err)
	assert.InDelta(t, 1*1.5*1.5+3*0.5*0.5, w, 1e-12)
	db, err := DaviesBouldin(x, labels)
	require.NoError(t, err)
	// Scatter 1, 0, 0; means 1, 10, 20: ratios 1/9, 1/9 and 1/19.
	assert.InDelta(t, (1.0/9+1.0/9+1.0/19)/3, db, 1e-12)

	one, err := Silhouette(x, []int{0, 0, 0, 0})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0, 0, 0}, one.Widths)
	assert.Equal(t, []int{-1, -1, -1, -1}, one.Neighbors)
	same, err := Silhouette(mat.NewDense(4, 1, nil), []int{0, 0, 1, 1})
	require.NoError(t, err)
	assert.Equal(t, []float64{0, 0, 0, 0}, same.Widths, "0/0 among equal rows is 0")
	worst, err := DaviesBouldin(mat.NewDense(4, 1, []float64{-1, 1, -2, 2}), []int{0, 0, 1, 1})
	require.NoError(t, err)
	assert.True(t, math.IsInf(worst, 1), "coinciding means")
}

func TestMeritsRefuseBadInput(t *testing.T) {
	x := mat.NewDense(3, 1, []float64{0, math.NaN(), 2})
	good := mat.NewDense(3, 1, []float64{0, 1, 2})
	labels := []int{0, 0, 1}
	for name, f := range map[string]func() error{
		"NaN":             func() error { _, err := TotalSS(x, nil); return err },
		"NaN silhouette":  func() error { _, err := Silhouette(x, labels); return err },
		"no rows":         func() error { _, err := TotalSS(&mat.Dense{}, nil); return err },
		"few labels":      func() error { _, err := CalinskiHarabasz(good, labels[:2]); return err },
		"few labels, DB":  func() error { _, err := DaviesBouldin(good, labels[:2]); return err },
		"few labels, S":   func() error { _, err := Silhouette(good, labels[:2]); return err },
		"negative label":  func() error { _, err := Silhouette(good, []int{0, -1, 0}); return err },
		"negative weight": func() error { _, err := WithinSS(good, labels, []float64{1, -1, 1}); return err },
		"few weights":     func() error { _, err := BetweenSS(good, labels, []float64{1}); return err },
		"not square":      func() error { _, err := SilhouetteFrom(good, labels); return err },
		"not symmetric": func() error {
			_, err := SilhouetteFrom(mat.NewDense(2, 2, []float64{0, 1, 2, 0}), labels[:2])
			return err
		},
		"no dissimilarity": func() error { _, err := SilhouetteFrom(&mat.Dense{}, nil); return err },
	} {
		assert.Error(t, f(), name)
	}
}
