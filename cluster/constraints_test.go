package cluster

import (
	"errors"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

func TestInfeasibleConstraintsNameTheObservations(t *testing.T) {
	x := mat.NewDense(8, 1, []float64{0, 1, 2, 3, 4, 5, 6, 7})
	ones := []float64{1, 1, 1, 1, 1, 1, 1, 1}
	for _, tc := range []struct {
		name string
		k    int
		opt  Options
		obs  []int
		text string
	}{
		{"triangle in two clusters", 2, Options{CannotLink: [][2]int{{0, 1}, {6, 7}, {3, 5}, {5, 6}, {6, 3}}}, []int{3, 5, 6}, "observations 3, 5, 6"},
		{"odd cycle in two clusters", 2, Options{CannotLink: [][2]int{{0, 1}, {1, 2}, {2, 3}, {3, 4}, {4, 0}}}, []int{0, 1, 2, 3, 4}, "2 clusters"},
		{"linked and apart", 2, Options{MustLink: [][]int{{1, 2}, {2, 4}}, CannotLink: [][2]int{{4, 1}}}, []int{1, 4}, "must-linked"},
		{"apart from itself", 2, Options{CannotLink: [][2]int{{4, 4}}}, []int{4}, "observation 4"},
		{"pinned to one cluster and apart", 2, Options{Pin: map[int]int{1: 0, 3: 0}, CannotLink: [][2]int{{3, 1}}}, []int{1, 3}, "pinned to cluster 0"},
		{"tied and pinned apart", 2, Options{Pin: map[int]int{1: 0, 3: 1}, MustLink: [][]int{{1, 3, 5}}}, []int{1, 3, 5}, "clusters 0 and 1"},
		{"neighbours pinned to every cluster", 2, Options{Pin: map[int]int{1: 0, 3: 1}, CannotLink: [][2]int{{2, 1}, {2, 3}}}, []int{1, 2, 3}, ""},
		{"tied beyond the size", 4, Options{MustLink: [][]int{{0, 4, 7}}, MaxSize: 2}, []int{0, 4, 7}, "greatest size 2"},
		{"too many", 2, Options{MaxSize: 3}, nil, "8 observations exceed 2 clusters"},
		{"too few", 3, Options{MinSize: 3}, nil, "8 observations are too few"},
		{"pins starve a cluster", 2, Options{MinSize: 2, Pin: map[int]int{0: 0, 1: 0, 2: 0, 3: 0, 4: 0, 5: 0, 6: 0}}, nil, "at least 2"},
		{"load beyond any cap", 2, Options{Loads: []float64{1, 1, 1, 9, 1, 1, 1, 1}, Caps: []float64{8, 8}}, []int{3}, "load 9"},
		{"load beyond the pinned cap", 2, Options{Loads: []float64{1, 1, 1, 4, 1, 1, 1, 1}, Caps: []float64{3, 20}, Pin: map[int]int{3: 0}}, []int{3}, "cap 3"},
		{"loads beyond all caps", 2, Options{Loads: ones, Caps: []float64{3, 4}}, nil, "sum to 8"},
		{"pins beyond a size", 2, Options{MaxSize: 4, Pin: map[int]int{0: 1, 2: 1, 3: 1, 6: 1, 7: 1}}, []int{0, 2, 3, 6, 7}, ""},
	} {
		t.Run(tc.name, func(t *testing.T) {
			_, err := KMeans(x, tc.k, tc.opt)
			var inf *InfeasibleError
			require.True(t, errors.As(err, &inf), "%v", err)
			assert.Equal(t, tc.obs, inf.Observations)
			assert.Contains(t, err.Error(), tc.text)
			assert.True(t, inf.Proven)
		})
	}
}

// Of loads a little over a third only 2 fit a cap of 1, so 40 of them need 20
// clusters; their sum does not give that away, and the search gives up on it.
func TestSearchThatGivesUpSaysSo(t *testing.T) {
	x, loads := noise(40, 2, 1), make([]float64, 40)
	for i := range loads {
		loads[i] = 0.34 + float64(i)/1000
	}
	caps := make([]float64, 19)
	for c := range caps {
		caps[c] = 1
	}
	_, err := KMeans(x, 19, Options{Loads: loads, Caps: caps})
	var inf *InfeasibleError
	require.True(t, errors.As(err, &inf), "%v", err)
	assert.False(t, inf.Proven)
	assert.Contains(t, err.Error(), "constraints not met")

	res, err := KMeans(x, 20, Options{Loads: loads, Caps: append(caps, 1), Restarts: 5})
	require.NoError(t, err)
	for _, size := range res.Sizes {
		assert.Equal(t, 2, size)
	}
}

func TestKMeansRefusesBadInput(t *testing.T) {
	x := mat.NewDense(3, 2, []float64{0, 1, 2, 3, 4, 5})
	nan := mat.NewDense(2, 2, []float64{0, 1, 2, math.NaN()})
	_, err := KMeans(nan, 1, Options{})
	assert.ErrorContains(t, err, "observation 1, dimension 1 is NaN")
	_, err = KMeans(&mat.Dense{}, 1, Options{})
	assert.ErrorIs(t, err, ErrEmpty)
	_, err = KMeans(mat.NewDense(2, 1, []float64{-1e200, 1e200}), 1, Options{})
	assert.ErrorContains(t, err, "overflow")
	for name, tc := range map[string]struct {
		k   int
		opt Options
	}{
		"no clusters":           {0, Options{}},
		"negative restarts":     {1, Options{Restarts: -1}},
		"negative iterations":   {1, Options{MaxIterations: -1}},
		"negative size":         {1, Options{MaxSize: -1}},
		"sizes crossed":         {1, Options{MinSize: 2, MaxSize: 1}},
		"few weights":           {1, Options{Weights: []float64{1}}},
		"zero weight":           {1, Options{Weights: []float64{1, 0, 1}}},
		"infinite weight":       {1, Options{Weights: []float64{1, math.Inf(1), 1}}},
		"loads without caps":    {1, Options{Loads: []float64{1, 1, 1}}},
		"few loads":             {1, Options{Loads: []float64{1}, Caps: []float64{1}}},
		"negative load":         {1, Options{Loads: []float64{1, -1, 1}, Caps: []float64{9}}},
		"few caps":              {2, Options{Loads: []float64{1, 1, 1}, Caps: []float64{9}}},
		"NaN cap":               {1, Options{Loads: []float64{1, 1, 1}, Caps: []float64{math.NaN()}}},
		"must-link out of rows": {1, Options{MustLink: [][]int{{0, 3}}}},
		"cannot-link negative":  {2, Options{CannotLink: [][2]int{{-1, 0}}}},
		"pin out of clusters":   {2, Options{Pin: map[int]int{0: 2}}},
		"pin out of rows":       {2, Options{Pin: map[int]int{3: 0}}},
	} {
		_, err := KMeans(x, tc.k, tc.opt)
		assert.Error(t, err, name)
	}
}

func TestFewerDistinctPointsThanClusters(t *testing.T) {
	x := mat.NewDense(5, 1, []float64{3, 1, 3, 1, 3})
	res, err := KMeans(x, 4, Options{})
	require.NoError(t, err)
	assert.Equal(t, 2, res.Used)
	assert.Equal(t, []int{1, 0, 1, 0, 1}, res.Labels)
	assert.Equal(t, []int{2, 3, 0, 0}, res.Sizes)
	assert.Zero(t, res.WithinSS)
	assert.True(t, math.IsNaN(res.Centers.At(3, 0)))

	res, err = KMeans(x, 4, Options{MinSize: 1})
	require.NoError(t, err)
	assert.Equal(t, 4, res.Used, "equal rows are split when every cluster must be used")

	res, err = KMeans(x, 7, Options{})
	require.NoError(t, err)
	assert.Equal(t, 2, res.Used)
	_, err = KMeans(x, 7, Options{MinSize: 1})
	assert.Error(t, err)

	res, err = KMeans(x, 3, Options{Pin: map[int]int{1: 2}, MustLink: [][]int{{0, 1}}})
	require.NoError(t, err)
	assert.Equal(t, 2, res.Labels[0])
	assert.Equal(t, 2, res.Labels[1])
	assert.InDelta(t, 2.0, res.WithinSS, 1e-12, "the scatter of the tied rows 3 and 1 about 2 is counted")

	all, err := KMeans(mat.NewDense(6, 2, nil), 3, Options{})
	require.NoError(t, err)
	assert.Equal(t, 1, all.Used)
}

// The reported sums are those of the rows, whatever was merged.
func TestSumsAreThoseOfTheRows(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for range 50 {
		x, k, opt := randomCase(rng, "must-link")
		n, _ := x.Dims()
		for range n {
			opt.Weights = append(opt.Weights, rng.Float64()+0.1)
		}
		res, err := KMeans(x, k, opt)
		require.NoError(t, err)
		within, err := WithinSS(x, res.Labels, opt.Weights)
		require.NoError(t, err)
		assert.InDelta(t, within, res.WithinSS, 1e-12*(1+within))
		sum := 0.0
		for _, v := range res.Parts {
			sum += v
		}
		assert.InDelta(t, res.WithinSS, sum, 1e-12*(1+within))
		for _, g := range opt.MustLink {
			for _, i := range g {
				assert.Equal(t, res.Labels[g[0]], res.Labels[i])
			}
		}
	}
}

// Expected values: scikit-learn 1.2.1 (testdata/reference.py).
func TestKMeansIrisWeightedAndStandardized(t *testing.T) {
	x, _ := loadIris(t)
	w := make([]float64, 150)
	for i := range w {
		w[i] = float64(1 + i%3)
	}
	res, err := KMeans(x, 3, Options{Weights: w})
	require.NoError(t, err)
	assert.InDelta(t, 159.49894008, res.WithinSS, 1e-8)
	assert.ElementsMatch(t, []int{39, 50, 61}, res.Sizes)

	z, _, err := Standardize(x, ZScore)
	require.NoError(t, err)
	for k, want := range map[int]float64{2: 222.36170497, 3: 139.82049636} {
		res, err := KMeans(z, k, Options{})
		require.NoError(t, err)
		assert.InDelta(t, want, res.WithinSS, 1e-8)
	}
}

func TestPermutingRowsPermutesTheResult(t *testing.T) {
	rng := rand.New(rand.NewPCG(11, 0))
	x := noise(60, 5, 2)
	opt := Options{
		Weights: make([]float64, 60), Loads: make([]float64, 60), Caps: []float64{16, 15, 15, 15, 15, 15},
		MustLink: [][]int{{0, 1, 2}, {30, 40}}, CannotLink: [][2]int{{0, 30}, {5, 6}, {50, 3}},
		Pin: map[int]int{9: 3}, MaxSize: 14, Restarts: 5, Seed: 42,
	}
	for i := range opt.Weights {
		opt.Weights[i], opt.Loads[i] = 1+rng.Float64(), rng.Float64()
	}
	want, err := KMeans(x, 6, opt)
	require.NoError(t, err)
	again, err := KMeans(x, 6, opt)
	require.NoError(t, err)
	assert.Equal(t, want, again, "same arguments, same result")
	for range 5 {
		to := rng.Perm(60)
		y, moved := mat.NewDense(60, 5, nil), opt
		moved.Weights, moved.Loads = make([]float64, 60), make([]float64, 60)
		moved.MustLink, moved.CannotLink, moved.Pin = nil, nil, map[int]int{to[9]: 3}
		for i, p := range to {
			y.SetRow(p, x.RawRowView(i))
			moved.Weights[p], moved.Loads[p] = opt.Weights[i], opt.Loads[i]
		}
		for _, g := range opt.MustLink {
			var h []int
			for _, i := range g {
				h = append([]int{to[i]}, h...)
			}
			moved.MustLink = append([][]int{h}, moved.MustLink...)
		}
		for _, p := range opt.CannotLink {
			moved.CannotLink = append([][2]int{{to[p[1]], to[p[0]]}}, moved.CannotLink...)
		}
		got, err := KMeans(y, 6, moved)
		require.NoError(t, err)
		for i, p := range to {
			assert.Equal(t, want.Labels[i], got.Labels[p])
		}
		assert.Equal(t, want.WithinSS, got.WithinSS, "to the last bit")
		assert.Equal(t, want.Centers, got.Centers)
	}
}

func TestTranslationAndScaleMoveNoRow(t *testing.T) {
	x := noise(40, 4, 3)
	want, err := KMeans(x, 5, Options{Seed: 1})
	require.NoError(t, err)
	y := mat.NewDense(40, 4, nil)
	y.Apply(func(_, j int, v float64) float64 { return 8*v + float64(1000*(j+1)) }, x)
	got, err := KMeans(y, 5, Options{Seed: 1})
	require.NoError(t, err)
	assert.Equal(t, want.Labels, got.Labels)
	assert.InEpsilon(t, 64*want.WithinSS, got.WithinSS, 1e-9)
}

// An optimum with one more cluster, or one constraint less, is never worse.
func TestFreedomNeverCosts(t *testing.T) {
	x := noise(30, 3, 4)
	last := math.Inf(1)
	for k := 1; k <= 30; k++ {
		res, err := KMeans(x, k, Options{Restarts: 30})
		require.NoError(t, err)
		assert.LessOrEqual(t, res.WithinSS, last)
		assert.Equal(t, k, res.Used)
		last = res.WithinSS
	}
	assert.Zero(t, last, "a cluster each")
	free, err := KMeans(x, 4, Options{})
	require.NoError(t, err)
	tied, err := KMeans(x, 4, Options{CannotLink: [][2]int{{0, 1}}, MaxSize: 8, MinSize: 7})
	require.NoError(t, err)
	assert.GreaterOrEqual(t, tied.WithinSS, free.WithinSS)
}
