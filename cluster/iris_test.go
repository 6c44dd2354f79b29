package cluster

import (
	"encoding/csv"
	"os"
	"slices"
	"strconv"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/mat"
)

// loadIris reads testdata/iris.csv (origin: testdata/README.md).
func loadIris(t testing.TB) (x *mat.Dense, species []int) {
	t.Helper()
	f, err := os.Open("testdata/iris.csv")
	require.NoError(t, err)
	defer f.Close()
	records, err := csv.NewReader(f).ReadAll()
	require.NoError(t, err)
	records = records[1:]
	names := []string{"setosa", "versicolor", "virginica"}
	x = mat.NewDense(len(records), 4, nil)
	for i, r := range records {
		for j := range 4 {
			v, err := strconv.ParseFloat(r[j], 64)
			require.NoError(t, err)
			x.Set(i, j, v)
		}
		s := slices.Index(names, r[4])
		require.GreaterOrEqual(t, s, 0, r[4])
		species = append(species, s)
	}
	return x, species
}

// Expected values: scikit-learn 1.2.1, best of 200 starts.
var irisKMeans = []struct {
	k        int
	withinSS float64
	sizes    []int // ascending
	sil      float64
	ch, db   float64
	ari      float64
}{
	{1, 681.37060000, []int{150}, 0, 0, 0, 0},
	{2, 152.34795176, []int{53, 97}, 0.681046, 513.9245, 0.404293, 0.539922},
	{3, 78.85144143, []int{38, 50, 62}, 0.552819, 561.6278, 0.661972, 0.730238},
	{4, 57.22847321, []int{28, 32, 40, 50}, 0.498051, 530.7658, 0.780307, 0.649818},
	{5, 46.44618205, []int{12, 24, 25, 39, 50}, 0.488749, 495.5415, 0.805965, 0.607896},
	{6, 39.03998725, []int{12, 22, 24, 25, 28, 39}, 0.364834, 473.8506, 0.914158, 0.447534},
	// k = 7 and 8: upper bounds, not proven optimal there.
	{k: 7, withinSS: 34.29822967},
	{k: 8, withinSS: 29.99042641},
}

func TestKMeansIris(t *testing.T) {
	x, _ := loadIris(t)
	for _, want := range irisKMeans {
		res, err := KMeans(x, want.k, Options{Restarts: 50, Seed: 1})
		require.NoError(t, err)
		assert.True(t, res.Converged)
		assert.Equal(t, want.k, res.Used)
		if want.sizes == nil {
			assert.LessOrEqual(t, res.WithinSS, want.withinSS+1e-8, "k = %d", want.k)
			continue
		}
		assert.InDelta(t, want.withinSS, res.WithinSS, 1e-8, "k = %d", want.k)
		assert.Equal(t, want.sizes, slices.Sorted(slices.Values(res.Sizes)), "k = %d", want.k)
	}
}

// Expected values: R kmeans on iris, stats.stackexchange.com question 48520,
// and scikit-learn 1.2.1.
func TestKMeansIrisThreeClusters(t *testing.T) {
	x, _ := loadIris(t)
	res, err := KMeans(x, 3, Options{})
	require.NoError(t, err)
	assert.Equal(t, []int{50, 62, 38}, res.Sizes)
	assert.InDeltaSlice(t, []float64{15.15100000, 39.82096774, 23.87947368}, res.Parts, 1e-8)
	centers := mat.NewDense(3, 4, []float64{
		5.006, 3.428, 1.462, 0.246,
		5.9016129, 2.7483871, 4.39354839, 1.43387097,
		6.85, 3.07368421, 5.74210526, 2.07105263,
	})
	assert.True(t, mat.EqualApprox(centers, res.Centers, 1e-7), "%v", mat.Formatted(res.Centers))
}
