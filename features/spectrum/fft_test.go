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

func randomSignal(n int, seed uint64) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(r.NormFloat64())
	}
	return x
}

func doubles(x []float32) []float64 {
	out := make([]float64, len(x))
	for i, v := range x {
		out[i] = float64(v)
	}
	return out
}

// The oracles are gonum v0.17.0 (dsp/fourier) and go-dsp (2018-05-08).
func TestTransformEqualsTheLibraries(t *testing.T) {
	for size := 64; size <= 65536; size *= 2 {
		t.Run(fmt.Sprint(size), func(t *testing.T) {
			a, b, w := randomSignal(size, 1), randomSignal(size, 2), randomSignal(size, 3)
			in := make([]complex128, size)
			for i := range in {
				in[i] = complex(float64(a[i]*w[i]), float64(b[i]*w[i]))
			}
			got := newFFT(size).transform(a, b, w)
			gonum := fourier.NewCmplxFFT(size).Coefficients(nil, in)
			other := godsp.FFT(in)
			var power, error, between float64
			for k, z := range got {
				power += math.Pow(cmplx.Abs(gonum[k]), 2)
				error += math.Pow(cmplx.Abs(complex128(z)-gonum[k]), 2)
				between += math.Pow(cmplx.Abs(other[k]-gonum[k]), 2)
			}
			assert.Less(t, 10*math.Log10(error/power), -136.0, "dB re the spectrum, against gonum")
			assert.Less(t, 10*math.Log10(between/power), -280.0, "gonum and go-dsp agree")
		})
	}
}

// Two frames packed in one transform must come out as if each had its own (gonum v0.17.0). A quiet frame may be
// touched by rounding of the loud one, 140 dB below that one's power.
func TestSeparateEqualsTwoRealTransforms(t *testing.T) {
	const size = 4096
	a, b, w := randomSignal(size, 4), randomSignal(size, 5), make([]float32, size)
	for i := range w {
		w[i] = 1
		b[i] *= 1e-3
	}
	gotA, gotB := make([]float32, size/2+1), make([]float32, size/2+1)
	separate(gotA, gotB, newFFT(size).transform(a, b, w))
	plan := fourier.NewFFT(size)
	noise := 2 * size * 1e-14 // a bin of white noise of variance 1 has a one-sided power of 2 size
	for name, c := range map[string]struct{ got, in []float32 }{"loud": {gotA, a}, "quiet": {gotB, b}} {
		for k, z := range plan.Coefficients(nil, doubles(c.in)) {
			want := 2 * (real(z)*real(z) + imag(z)*imag(z))
			if k == 0 || k == size/2 {
				want /= 2
			}
			// (x + e)^2 - x^2 for an error e four times the expected one, and rounding of the power itself
			assert.InDelta(t, want, float64(c.got[k]), 1e-6*want+8*math.Sqrt(want*noise)+16*noise, "%s bin %d", name, k)
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
	d := doubles(x)
	b.Run("one real frame, gonum", func(b *testing.B) {
		t, out := fourier.NewFFT(size), make([]complex128, size/2+1)
		for b.Loop() {
			t.Coefficients(out, d)
		}
	})
	b.Run("one real frame, go-dsp", func(b *testing.B) {
		for b.Loop() {
			godsp.FFTReal(d)
		}
	})
}

func BenchmarkStream(b *testing.B) {
	for _, channels := range []int{1, 2} {
		b.Run(fmt.Sprintf("%d channels", channels), func(b *testing.B) {
			planes := make([][]float32, channels)
			for c := range planes {
				planes[c] = randomSignal(48000, uint64(c))
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
