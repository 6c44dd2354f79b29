package align

import (
	"math"
	"math/bits"
	"math/cmplx"
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Size is the smallest power of two not below n, and at least 2.
func Size(n int) int { return 1 << bits.Len(uint(max(2, n)-1)) }

// Correlate gives the sum over n of x[n] y[n+lag] for every lag at which x and y meet: r[zero+lag], with lag from
// -(len(x)-1) to len(y)-1 and zero = len(x)-1. Nil where one of them is empty.
func Correlate(x, y []float64) (r []float64, zero int) {
	return CorrelateWhite(x, y, 0)
}

// CorrelateWhite is Correlate with the cross-spectrum flattened: every bin is divided by its magnitude to the power of
// whitening, 0 for the plain correlation, 1 for the phase alone (PHAT). Bins 60 dB under the strongest are left out of
// what is flattened, as their phase is chance. With whitening the values have no unit; they compare among themselves.
func CorrelateWhite(x, y []float64, whitening float64) (r []float64, zero int) {
	if len(x) == 0 || len(y) == 0 {
		return nil, 0
	}
	n := Size(len(x) + len(y) - 1)
	fft := fourier.NewFFT(n)
	pad := make([]float64, n)
	copy(pad, x)
	X := fft.Coefficients(nil, pad)
	clear(pad)
	copy(pad, y)
	Y := fft.Coefficients(nil, pad)
	strongest := 0.0
	for i := range X {
		X[i] = cmplx.Conj(X[i]) * Y[i]
		strongest = max(strongest, cmplx.Abs(X[i]))
	}
	if whitening != 0 && strongest > 0 {
		for i, v := range X {
			if m := cmplx.Abs(v); m > 1e-6*strongest {
				X[i] = v * complex(math.Pow(m/strongest, -whitening), 0)
			} else {
				X[i] = 0
			}
		}
	}
	fft.Sequence(pad, X)
	zero = len(x) - 1
	r = make([]float64, len(x)+len(y)-1)
	for i := range r {
		r[i] = pad[(i-zero+n)%n] / float64(n)
	}
	return r, zero
}

// Peak finds the largest magnitude of r with its place to a part of a sample, by band-limited interpolation between the
// values, and its sign. A silent r gives 0, 0.
func Peak(r []float64) (at, value float64) {
	best := 0
	for i, v := range r {
		if math.Abs(v) > math.Abs(r[best]) {
			best = i
		}
	}
	if len(r) == 0 || r[best] == 0 {
		return 0, 0
	}
	// Golden section between the neighbours: the peak of a band-limited signal is smooth there.
	in := between()
	height := func(t float64) float64 { return math.Abs(in.At(r, t)) }
	const golden = 0.6180339887498949
	lo, hi := float64(best)-1, float64(best)+1
	a, b := hi-golden*(hi-lo), lo+golden*(hi-lo)
	ha, hb := height(a), height(b)
	for hi-lo > 1e-5 {
		if ha > hb {
			hi, b, hb = b, a, ha
			a = hi - golden*(hi-lo)
			ha = height(a)
		} else {
			lo, a, ha = a, b, hb
			b = lo + golden*(hi-lo)
			hb = height(b)
		}
	}
	at = (lo + hi) / 2
	return at, in.At(r, at)
}

const peakTaps = 32

// between is the interpolator for steps of one sample.
var between = sync.OnceValue(func() *Interpolator { return NewInterpolator(peakTaps, 1) })
