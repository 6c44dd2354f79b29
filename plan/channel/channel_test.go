package channel

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/dsp/fourier"
)

// tones returns 4096 samples of sines with whole numbers of cycles.
func tones(amplitude map[int]float64) []float64 {
	x := make([]float64, 4096)
	for i := range x {
		for cycles, a := range amplitude {
			x[i] += a * math.Sin(2*math.Pi*float64(cycles*i)/4096)
		}
	}
	return x
}

// through passes x through the channel and returns the peak amplitude of every line.
func through(c Channel, x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = v + c.Added(v)
	}
	lines := make([]float64, len(y)/2+1)
	for k, c := range fourier.NewFFT(len(y)).Coefficients(nil, y) {
		lines[k] = 2 * cmplx.Abs(c) / float64(len(y))
	}
	return lines
}

func TestOneToneHasTheTextbookHarmonics(t *testing.T) {
	// y = x + a2 x^2 + a3 x^3, sine of peak A: H1 = A + 3 a3 A^3/4, H2 = a2 A^2/2, H3 = a3 A^3/4 (power series)
	for _, c := range []struct{ a2, a3, peak, h1, h2, h3 float64 }{
		{0.01, 0, 1, 1, 0.005, 0},
		{0, 0.01, 1, 1.0075, 0, 0.0025},
		{0.1, 0.05, 0.5, 0.504687, 0.0125, 0.0015625},
	} {
		a := through(Channel{c.a2, c.a3}, tones(map[int]float64{101: c.peak}))
		assert.InDelta(t, c.h1, a[101], 1e-6)
		assert.InDelta(t, c.h2, a[202], 1e-9)
		assert.InDelta(t, c.h3, a[303], 1e-9)
	}
}

func TestTwoTonesHaveTheTextbookProducts(t *testing.T) {
	// Two tones of peaks A and B: a2 A B at f2 +- f1, (3/4) a3 A^2 B at 2 f1 +- f2 (power series).
	const a2, a3, A, B = 0.02, -0.03, 0.4, 0.3
	const f1, f2 = 300, 370
	a := through(Channel{a2, a3}, tones(map[int]float64{f1: A, f2: B}))
	assert.InDelta(t, a2*A*B, a[f2-f1], 1e-12)
	assert.InDelta(t, a2*A*B, a[f2+f1], 1e-12)
	assert.InDelta(t, 0.75*-a3*A*A*B, a[2*f1-f2], 1e-12)
	assert.InDelta(t, 0.75*-a3*A*B*B, a[2*f2-f1], 1e-12)
	assert.InDelta(t, 0.75*-a3*A*A*B, a[2*f1+f2], 1e-12)
}

func TestTheGenericChannelHasItsHarmonics(t *testing.T) {
	a := through(Generic(), tones(map[int]float64{101: 1}))
	assert.InDelta(t, SecondDB, 20*math.Log10(a[202]/a[101]), 0.05)
	assert.InDelta(t, ThirdDB, 20*math.Log10(a[303]/a[101]), 0.05)
}
