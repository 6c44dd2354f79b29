package fft

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	godsp "github.com/mjibson/go-dsp/fft"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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

// ways are the transforms to test: plain Go, and with vector kernels where the processor has them.
// NewPortable is New without vector kernels.
func NewPortable(n int) *FFT {
	checkSize(n)
	return &FFT{n: n, engine: newPortable(n)}
}

func ways(n int) map[string]*FFT {
	w := map[string]*FFT{"plain Go": NewPortable(n)}
	if vectors {
		w["vector kernels"] = New(n)
	}
	return w
}

// The oracles are gonum v0.17.0 (dsp/fourier) and go-dsp (2018-05-08).
func TestTransformEqualsTheLibraries(t *testing.T) {
	for size := MinSize; size <= 65536; size *= 2 {
		a, b, w := randomSignal(size, 1), randomSignal(size, 2), randomSignal(size, 3)
		in, plain := make([]complex128, size), make([]complex128, size)
		for i := range in {
			in[i] = complex(float64(a[i]*w[i]), float64(b[i]*w[i]))
			plain[i] = complex(float64(a[i]), float64(b[i]))
		}
		gonum := fourier.NewCmplxFFT(size).Coefficients(nil, in)
		flat := fourier.NewCmplxFFT(size).Coefficients(nil, plain)
		other := godsp.FFT(in)
		assert.Less(t, distanceDB(gonum, other), -280.0, "gonum and go-dsp agree")
		for name, f := range ways(size) {
			t.Run(fmt.Sprint(name, size), func(t *testing.T) {
				f.Transform(a, b, w)
				assert.Less(t, distanceDB(gonum, bins(f)), -136.0, "dB re the spectrum, against gonum")
				f.Transform(a, b, nil)
				assert.Less(t, distanceDB(flat, bins(f)), -136.0, "without window")
			})
		}
	}
}

func bins(f *FFT) []complex128 {
	re, im := make([]float32, f.Len()), make([]float32, f.Len())
	f.Bins(re, im)
	z := make([]complex128, f.Len())
	for k := range z {
		z[k] = complex(float64(re[k]), float64(im[k]))
	}
	return z
}

func distanceDB(want, got []complex128) float64 {
	var power, error float64
	for k, z := range want {
		power += math.Pow(cmplx.Abs(z), 2)
		error += math.Pow(cmplx.Abs(got[k]-z), 2)
	}
	return 10 * math.Log10(error/power)
}

// Two frames packed in one transform must come out as if each had its own (gonum v0.17.0). A quiet frame may be
// touched by rounding of the loud one, 140 dB below that one's power.
func TestPowersAndSpectraEqualTwoRealTransforms(t *testing.T) {
	for size := MinSize; size <= 8192; size *= 2 {
		a, b := randomSignal(size, 4), randomSignal(size, 5)
		for i := range b {
			b[i] *= 1e-3
		}
		plan := fourier.NewFFT(size)
		wantA, wantB := plan.Coefficients(nil, doubles(a)), plan.Coefficients(nil, doubles(b))
		oneSided := func(z complex128, k int) float64 {
			p := 2 * (real(z)*real(z) + imag(z)*imag(z))
			if k == 0 || k == size/2 {
				p /= 2
			}
			return p
		}
		noise := 2 * float64(size) * 1e-14 // a bin of white noise of variance 1 has a one-sided power of 2 size
		// (x + e)^2 - x^2 for an error e four times the expected one, and rounding of the power itself
		tolerance := func(p float64) float64 { return 1e-6*p + 8*math.Sqrt(p*noise) + 16*noise }
		for name, f := range ways(size) {
			t.Run(fmt.Sprint(name, size), func(t *testing.T) {
				f.Transform(a, b, nil)
				gotA, gotB := make([]float32, size/2+1), make([]float32, size/2+1)
				f.Powers(gotA, gotB)
				sum := make([]float32, size/2+1)
				f.Power(sum, false)
				twice := append([]float32(nil), sum...)
				f.Power(twice, true)
				for k := range sum {
					p, q := oneSided(wantA[k], k), oneSided(wantB[k], k)
					assert.InDelta(t, p, float64(gotA[k]), tolerance(p), "loud, bin %d", k)
					assert.InDelta(t, q, float64(gotB[k]), tolerance(q), "quiet, bin %d", k)
					assert.InDelta(t, p+q, float64(sum[k]), tolerance(p+q), "both, bin %d", k)
					assert.InDelta(t, 2*(p+q), float64(twice[k]), 2*tolerance(p+q), "both, added, bin %d", k)
					ar, ai, br, bi := f.Spectrum(k)
					e := 4 * math.Sqrt(noise)
					assert.InDelta(t, real(wantA[k]), float64(ar), e, "bin %d", k)
					assert.InDelta(t, imag(wantA[k]), float64(ai), e, "bin %d", k)
					assert.InDelta(t, real(wantB[k]), float64(br), e, "bin %d", k)
					assert.InDelta(t, imag(wantB[k]), float64(bi), e, "bin %d", k)
				}
				for _, stride := range []int{1, 3, 4} {
					n := (size/2-1)/stride + 1 // bins 1, 1+stride, ...
					got := make([]float32, 4*n)
					f.Spectra(1, stride, got[:n], got[n:2*n], got[2*n:3*n], got[3*n:])
					for i := range n {
						ar, ai, br, bi := f.Spectrum(1 + i*stride)
						assert.Equal(t, []float32{ar, ai, br, bi}, []float32{got[i], got[n+i], got[2*n+i], got[3*n+i]})
					}
					assert.Panics(t, func() { f.Spectra(2, size/2-1, got[:2], got[:2], got[:2], got[:2]) })
				}
			})
		}
	}
}

// The kernels and plain Go do the same sums in another order: their results differ by rounding, whatever goes in.
func TestKernelsEqualPlainGo(t *testing.T) {
	if !vectors {
		t.Skip("no vector kernels here")
	}
	for _, scale := range []float32{1, 1e-30, 1e-42, 1e15} { // 1e-42 is denormal
		for size := MinSize; size <= 4096; size *= 2 {
			a, b, w := randomSignal(size, 6), randomSignal(size, 7), randomSignal(size, 8)
			for i := range a {
				a[i], b[i] = a[i]*scale, b[i]*scale
			}
			compare(t, a, b, w)
		}
	}
}

// compare lets both ways transform and demands equal bins, to 2e-6 of their rms or the smallest normal number.
func compare(t *testing.T, a, b, w []float32) {
	t.Helper()
	v, p := New(len(w)), NewPortable(len(w))
	v.Transform(a, b, w)
	p.Transform(a, b, w)
	got, want := bins(v), bins(p)
	square := 0.0
	for _, z := range want {
		square += real(z)*real(z) + imag(z)*imag(z)
	}
	if square-square != 0 { // a value that is no number spreads to every bin
		for k, z := range got {
			require.True(t, cmplx.IsNaN(z) || cmplx.IsInf(z) || !cmplx.IsNaN(want[k]) && !cmplx.IsInf(want[k]), "bin %d", k)
		}
		return
	}
	tolerance := 2e-6*math.Sqrt(square/float64(len(want))) + 1e-37
	for k := range want {
		require.InDelta(t, real(want[k]), real(got[k]), tolerance, "bin %d", k)
		require.InDelta(t, imag(want[k]), imag(got[k]), tolerance, "bin %d", k)
	}
}

func FuzzKernelsEqualPlainGo(f *testing.F) {
	f.Add(uint8(0), uint64(1), uint32(0x7FC00000), uint16(3))
	f.Add(uint8(5), uint64(2), uint32(1), uint16(700))
	f.Add(uint8(6), uint64(3), uint32(0x7F7FFFFF), uint16(4095))
	f.Fuzz(func(t *testing.T, order uint8, seed uint64, bits uint32, at uint16) {
		if !vectors {
			t.Skip("no vector kernels here")
		}
		size := MinSize << (order % 7)
		a, b, w := randomSignal(size, seed), randomSignal(size, seed+1), randomSignal(size, seed+2)
		a[int(at)%size] = math.Float32frombits(bits)
		compare(t, a, b, w)
	})
}

func TestSizesAreChecked(t *testing.T) {
	for _, n := range []int{-1, 0, 32, 96, 100} {
		assert.Panics(t, func() { New(n) }, "%d", n)
		assert.Panics(t, func() { NewPortable(n) }, "%d", n)
	}
}

func BenchmarkTransform(b *testing.B) {
	const size = 4096
	x, y, w := randomSignal(size, 1), randomSignal(size, 2), randomSignal(size, 3)
	for name, f := range ways(size) {
		b.Run("two real frames, "+name, func(b *testing.B) {
			for b.Loop() {
				f.Transform(x, y, w)
			}
		})
		p, q := make([]float32, size/2+1), make([]float32, size/2+1)
		b.Run("power of both, "+name, func(b *testing.B) {
			for b.Loop() {
				f.Power(p, false)
			}
		})
		b.Run("powers, "+name, func(b *testing.B) {
			for b.Loop() {
				f.Powers(p, q)
			}
		})
	}
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
