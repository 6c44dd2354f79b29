package spectrum

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	godsp "github.com/mjibson/go-dsp/fft"
	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/dsp/fourier"
)

func randomSignal(n int, seed uint64) []float64 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}

// The oracles are gonum v0.17.0 (dsp/fourier) and go-dsp (2018-05-08).
func TestTransformEqualsTheLibraries(t *testing.T) {
	for size := 64; size <= 65536; size *= 2 {
		t.Run(fmt.Sprint(size), func(t *testing.T) {
			a, b, w := randomSignal(size, 1), randomSignal(size, 2), randomSignal(size, 3)
			in := make([]complex128, size)
			for i := range in {
				in[i] = complex(a[i]*w[i], b[i]*w[i])
			}
			got := newFFT(size).transform(a, b, w)
			gonum := fourier.NewCmplxFFT(size).Coefficients(nil, in)
			other := godsp.FFT(in)
			var largest, against float64
			for k := range got {
				largest = max(largest, cmplx.Abs(got[k]-gonum[k]))
				against = max(against, cmplx.Abs(got[k]-other[k]))
			}
			// Rounding of a double grows with the root of the logarithm of the length; the outputs are of the
			// order of sqrt(2 size).
			bound := 1e-14 * math.Sqrt(float64(size)) * math.Log2(float64(size))
			assert.Less(t, largest, bound, "gonum")
			assert.Less(t, against, 10*bound, "go-dsp")
		})
	}
}

// Two frames packed in one transform must come out as if each had its own (gonum v0.17.0).
func TestSeparateEqualsTwoRealTransforms(t *testing.T) {
	const size = 4096
	a, b, w := randomSignal(size, 4), randomSignal(size, 5), make([]float64, size)
	for i := range w {
		w[i] = 1
		b[i] *= 1e-6 // a quiet frame packed with a loud one keeps its own spectrum
	}
	gotA, gotB := make([]float32, size/2+1), make([]float32, size/2+1)
	separate(gotA, gotB, newFFT(size).transform(a, b, w))
	plan := fourier.NewFFT(size)
	for name, c := range map[string]struct {
		got []float32
		in  []float64
	}{"loud": {gotA, a}, "quiet": {gotB, b}} {
		for k, z := range plan.Coefficients(nil, c.in) {
			want := 2 * square(z)
			if k == 0 || k == size/2 {
				want /= 2
			}
			assert.InEpsilon(t, want, float64(c.got[k]), 1e-6, "%s bin %d", name, k)
		}
	}
}

func BenchmarkTransform(b *testing.B) {
	const size = 4096
	x, y, w := randomSignal(size, 1), randomSignal(size, 2), randomSignal(size, 3)
	b.Run("two real frames, this package", func(b *testing.B) {
		t := newFFT(size)
		for b.Loop() {
			t.transform(x, y, w)
		}
	})
	b.Run("one real frame, gonum", func(b *testing.B) {
		t, out := fourier.NewFFT(size), make([]complex128, size/2+1)
		for b.Loop() {
			t.Coefficients(out, x)
		}
	})
	b.Run("one real frame, go-dsp", func(b *testing.B) {
		for b.Loop() {
			godsp.FFTReal(x)
		}
	})
}

func BenchmarkStream(b *testing.B) {
	for _, channels := range []int{1, 2} {
		b.Run(fmt.Sprintf("%d channels", channels), func(b *testing.B) {
			planes := make([][]float32, channels)
			for c := range planes {
				for _, v := range randomSignal(48000, uint64(c)) {
					planes[c] = append(planes[c], float32(v))
				}
			}
			s := NewStream(48000, channels, New(48000, channels))
			b.ReportAllocs()
			for b.Loop() {
				s.Write(planes)
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(s.frames)/float64(channels), "us/frame")
		})
	}
}
