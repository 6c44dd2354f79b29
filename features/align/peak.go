package align

import (
	"math"
	"math/bits"
	"sync"
)

// Size is the smallest power of two not below n, and at least 2.
func Size(n int) int { return 1 << bits.Len(uint(max(2, n)-1)) }

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
