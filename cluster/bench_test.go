package cluster

import (
	"math/rand/v2"
	"testing"

	"gonum.org/v1/gonum/mat"
)

// noise returns n x d standard normal numbers.
func noise(n, d int, seed uint64) *mat.Dense {
	rng := rand.New(rand.NewPCG(seed, 0))
	x := mat.NewDense(n, d, nil)
	for i := range n {
		for j := range d {
			x.Set(i, j, rng.NormFloat64())
		}
	}
	return x
}

func BenchmarkKMeans(b *testing.B) {
	x := noise(100, 60, 1)
	pairs := [][2]int{{0, 1}, {0, 2}, {5, 60}, {7, 8}, {9, 99}}
	for _, bc := range []struct {
		name string
		opt  Options
	}{
		{"free", Options{}},
		{"tied", Options{MustLink: [][]int{{0, 1, 2}, {3, 4}, {50, 60, 70, 80}}, Pin: map[int]int{3: 0}}},
		{"apart", Options{CannotLink: pairs}},
		{"sized", Options{CannotLink: pairs, MinSize: 1, MaxSize: 8}},
	} {
		b.Run(bc.name, func(b *testing.B) {
			bc.opt.Restarts = 200
			for b.Loop() {
				if _, err := KMeans(x, 16, bc.opt); err != nil {
					b.Fatal(err)
				}
			}
		})
	}
}

func BenchmarkSilhouette(b *testing.B) {
	x := noise(100, 60, 1)
	labels := make([]int, 100)
	for i := range labels {
		labels[i] = i % 16
	}
	for b.Loop() {
		if _, err := Silhouette(x, labels); err != nil {
			b.Fatal(err)
		}
	}
}

func BenchmarkGap(b *testing.B) {
	x := noise(100, 10, 1)
	for b.Loop() {
		if _, err := Gap(x, 8, GapOptions{References: 20}); err != nil {
			b.Fatal(err)
		}
	}
}
