package intermod

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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
	lines := Spectrum(y)
	for k := range lines {
		lines[k] = math.Sqrt(2 * lines[k])
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

func TestModulationAndDifferenceFrequencyDistortion(t *testing.T) {
	// IEC 60268-3, 14.12.7 and 14.12.8, by the definitions there, of x + 0.01 x^2 + 0.01 x^3; values in closed form.
	for _, c := range []struct{ peak, dm2, dm3, dd2, dd3 float64 }{
		{1, 0.01584315, 0.00950589, 0.00248602, 0.00186451},
		{0.5, 0.00798025, 0.00239407, 0.00124824, 0.00046809},
	} {
		const low, high = 40, 900
		a := through(Channel{0.01, 0.01}, tones(map[int]float64{low: 0.8 * c.peak, high: 0.2 * c.peak}))
		assert.InDelta(t, c.dm2, (a[high+low]+a[high-low])/a[high], 1e-8)
		assert.InDelta(t, c.dm3, (a[high+2*low]+a[high-2*low])/a[high], 1e-8)
		a = through(Channel{0.01, 0.01}, tones(map[int]float64{high: c.peak / 2, high + low: c.peak / 2}))
		assert.InDelta(t, c.dd2, a[low]/(a[high]+a[high+low]), 1e-8)
		assert.InDelta(t, c.dd3, (a[high-low]+a[high+2*low])/(a[high]+a[high+low]), 1e-8)
	}
}

func TestTheGenericChannelHasTheStatedHarmonics(t *testing.T) {
	a := through(Generic(), tones(map[int]float64{101: 1}))
	assert.InDelta(t, SecondDB, 20*math.Log10(a[202]), 1e-6) // by definition
	assert.InDelta(t, ThirdDB, 20*math.Log10(a[303]), 1e-6)
}

func TestMaterialHasThePowerAskedFor(t *testing.T) {
	m := Make([]Octave{{88, 177, 0.02}, {707, 1414, 0.03}}, 1)
	require.NotNil(t, m)
	assert.InDelta(t, 0.05, m.Power(), 1e-9) // the sum of the bands, by construction
	assert.Nil(t, Make([]Octave{{88, 177, 0}, {30000, 40000, 1}}, 1))
	assert.Nil(t, Make(nil, 1))
}

func TestExposureOfApartAndAlike(t *testing.T) {
	low := Make([]Octave{{60, 120, 1}}, 1)
	other := Make([]Octave{{60, 120, 1}}, 2)
	high := Make([]Octave{{2000, 4000, 1}}, 3)
	c := Generic()
	alone := c.Of([]*Material{low})
	assert.True(t, math.IsInf(alone.MutualDB, -1), "one track has nobody to modulate with")
	assert.Greater(t, alone.OutsideDB, -80.0, "its harmonics land above its band")
	assert.Equal(t, alone, c.Of([]*Material{nil, low}), "a silent track changes nothing")
	silent := c.Of(nil)
	assert.True(t, math.IsInf(silent.OutsideDB, -1) && math.IsInf(silent.MutualDB, -1) && math.IsInf(silent.TotalDB, -1))
	assert.Less(t, c.Of([]*Material{low, other}).MutualDB, c.Of([]*Material{low, other}).OutsideDB, "mutual products are a part of all")
	assert.Greater(t, c.Of([]*Material{low, high}).TotalDB, c.Of([]*Material{low, high}).OutsideDB, "some land in the own bands")
}

func TestMutualProductsOfNarrowBandsHaveTheExpectedPower(t *testing.T) {
	// Independent x and y of power 1/4 each through a2 v^2: the mutual part is 2 a2 x y, of power 4 a2^2 / 16, which is
	// a2^2 / 2 re the material's 1/2. Bands around 400 and 2000 Hz put it at 1600 and 2400 Hz, outside both.
	var mean float64
	for seed := range uint64(20) {
		x, y := Make([]Octave{{380, 420, 1}}, 2*seed), Make([]Octave{{1980, 2020, 1}}, 2*seed+1)
		e := Channel{A2: 0.01}.Of([]*Material{x, y})
		assert.InDelta(t, e.SharedDB, e.MutualDB, 0.01)
		mean += math.Pow(10, e.MutualDB/10) / 20
	}
	assert.InEpsilon(t, 0.01*0.01/2, mean, 0.15, "x and y are made of few lines, so their powers are not quite independent")
}

func TestExposureIgnoresTheGainOfThePairAndBarelyMindsThatOfATrack(t *testing.T) {
	bands := []Octave{{88, 177, 1}, {177, 354, 0.5}}
	other := []Octave{{354, 707, 1}, {707, 1414, 0.3}}
	scale := func(b []Octave, g float64) []Octave {
		out := append([]Octave(nil), b...)
		for i := range out {
			out[i].Power *= g
		}
		return out
	}
	c := Generic()
	plain := c.Of([]*Material{Make(bands, 1), Make(other, 2)})
	louder := c.Of([]*Material{Make(scale(bands, 1e4), 1), Make(scale(other, 1e4), 2)})
	assert.InDelta(t, plain.MutualDB, louder.MutualDB, 1e-6)
	assert.InDelta(t, plain.OutsideDB, louder.OutsideDB, 1e-6)
	for _, g := range []float64{-12, 12} { // products of two tracks scale with both: at most about the change itself
		one := c.Of([]*Material{Make(scale(bands, math.Pow(10, g/10)), 1), Make(other, 2)})
		assert.InDelta(t, plain.MutualDB, one.MutualDB, 14)
	}
}

func BenchmarkPairOfTwelve(b *testing.B) {
	var tracks []*Material
	for i := range 12 {
		f := 50 * math.Pow(1.7, float64(i))
		tracks = append(tracks, Make([]Octave{{f, 1.5 * f, 1}}, uint64(i)))
	}
	for b.Loop() {
		Generic().Of(tracks)
	}
}
