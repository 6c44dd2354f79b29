package spectrum

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// measureAll feeds samples and frames.
func measureAll(rate int, planes ...[]float32) Result {
	m := New(rate, len(planes))
	s := NewStream(rate, len(planes), m)
	for at := 0; at < len(planes[0]); at += 4096 {
		block := make([][]float32, len(planes))
		for c, p := range planes {
			block[c] = p[at:min(at+4096, len(p))]
		}
		m.Write(block)
		s.Write(block)
	}
	s.Close()
	return m.Result()
}

// class1 holds the limits of IEC 61260-1:2014 table 1 on the relative attenuation of octave filters of class 1, at
// frequencies G^x times the mid-band frequency and at their reciprocals. The stop-band values are those of IEC
// 61260-3:2016 as read in an open acoustics library; the pass-band ones agree with it, mapped from third-octaves.
var class1 = []struct{ x, least, most float64 }{
	{0, -0.4, 0.4}, {1. / 8, -0.4, 0.5}, {1. / 4, -0.4, 0.7}, {3. / 8, -0.4, 1.4},
	{1, 16.6, math.Inf(1)}, {2, 40.5, math.Inf(1)}, {3, 60, math.Inf(1)}, {4, 70, math.Inf(1)},
}

// faded is a tone with raised cosines of one second at its ends: what a tone that starts at once adds to other bands is
// there, and a filter passes it.
func faded(rate int, seconds, hz, amplitude float64) []float32 {
	x := sine(int(seconds*float64(rate)), float64(rate), hz, amplitude)
	for i := range rate {
		g := float32(0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(rate)))
		x[i] *= g
		x[len(x)-1-i] *= g
	}
	return x
}

// Attenuation is against the true power of the tone.
func TestOctaveBandsMeetClass1(t *testing.T) {
	for _, rate := range []int{8000, 11025, 22050, 32000, 44100, 48000, 96000} {
		if testing.Short() && rate != 44100 {
			continue
		}
		for band := range OctaveNominalHz {
			if rate != 44100 && rate != 8000 && band > 4 {
				continue // these bands lie above the low end and scale with the rate
			}
			middle := 1000 * math.Pow(10, 0.3*float64(band-5))
			for i, limit := range class1 {
				for _, side := range []float64{-1, 1} {
					hz := middle * math.Pow(10, 0.3*side*limit.x)
					if hz < 8 || max(hz, middle*math.Sqrt2) > 0.49*float64(rate) || side > 0 && i == 0 {
						continue // the band, or the tone, is cut off by half the rate
					}
					r := measureAll(rate, faded(rate, 6, hz, 0.5))
					power := 0.125 * (4 + 2*3./8) / 6 // the mean square of the fades is 3/8
					attenuation := -(r.OctaveDB[band] + decibels(r.Total/power))
					if r.Total == 0 {
						attenuation = math.Inf(1)
					}
					assert.True(t, limit.least <= attenuation && attenuation <= limit.most,
						"%d Hz rate: %g Hz in the %g Hz octave: %g dB, want %g to %g", rate, hz, OctaveNominalHz[band], attenuation, limit.least, limit.most)
				}
			}
		}
	}
}

// A tone in the range where one measurement takes over from the other, or at the edge of a register, is neither lost nor
// counted twice. Closed form.
func TestTheTakeoverKeepsThePower(t *testing.T) {
	for hz := 12.; hz < 260; hz += 7.3 {
		r := measureAll(48000, faded(48000, 4, hz, 0.5))
		assert.InDelta(t, 0, decibels(r.Total/(0.125*(2+2*3./8)/4)), 0.25, "%g Hz", hz)
		assert.InDelta(t, hz, r.CentroidHz, 1, "%g Hz", hz)
	}
	for hz, register := range map[float64]int{30: 0, 41.2: 0, 55: 0, 65.4: 1, 110: 1, 200: 1} {
		assert.Greater(t, measureAll(44100, faded(44100, 5, hz, 0.3)).Register[register], 0.99, "%g Hz", hz)
	}
}

// A short sound whose pitch falls, as of a drum: its bands hold what the transform of the whole of it holds, taken by its
// definition.
func TestAKickInItsBands(t *testing.T) {
	const rate, n, start = 48000, 24000, 4800
	x := make([]float32, n)
	phase := 0.
	for i := start; i < n; i++ {
		u := float64(i-start) / rate
		phase += 2 * math.Pi * (50 + 150*math.Exp(-u/0.02)) / rate
		x[i] = float32(0.8 * math.Exp(-u/0.12) * math.Sin(phase))
	}
	var total float64
	for _, v := range x {
		total += float64(v) * float64(v)
	}
	r := measureAll(rate, x)
	edges := OctaveEdgesHz()
	for band := range 3 {
		want := 10 * math.Log10(bandEnergy(x, rate, edges[band], edges[band+1])/total)
		assert.InDelta(t, want, r.OctaveDB[band], 0.8, "%g Hz", OctaveNominalHz[band])
	}
}

// bandEnergy integrates the energy spectrum of x between two frequencies, by the definition of the transform.
func bandEnergy(x []float32, rate, low, high float64) float64 {
	const steps = 60
	sum := 0.
	for s := range steps {
		hz := low + (high-low)*(float64(s)+0.5)/steps
		w := 2 * math.Pi * hz / rate
		var re, im float64
		for i, v := range x {
			sin, cos := math.Sincos(w * float64(i))
			re += float64(v) * cos
			im += float64(v) * sin
		}
		sum += (re*re + im*im) * 2 / rate * (high - low) / steps
	}
	return sum
}

func TestLowEndDoesNotDependOnBlocks(t *testing.T) {
	x, y := add(sine(100000, 44100, 40, 0.3), noise(100000, 3, 0.1)), sine(100000, 44100, 70, 0.2)
	want := measureAll(44100, x, y)
	for _, block := range []int{1, 7, 100, 99999} {
		m := New(44100, 2)
		run(44100, block, [][]float32{x, y}, m)
		for at := 0; at < len(x); at += block {
			end := min(at+block, len(x))
			m.Write([][]float32{x[at:end], y[at:end]})
		}
		got := m.Result()
		for i := range 4 {
			assert.InDelta(t, want.OctaveDB[i], got.OctaveDB[i], 1e-5)
		}
	}
}

func TestLowEndOfOddTracks(t *testing.T) {
	for name, x := range map[string][]float32{
		"constant": constant(48000, 0.5), "one sample": {0.5}, "silence": make([]float32, 30000),
	} {
		r := measureAll(48000, x)
		if name == "one sample" {
			assert.Greater(t, r.Total, 0., name)
			continue
		}
		assert.Zero(t, r.Total, name)
	}
	a, b := measureAll(48000, noise(96000, 1, 0.2)), measureAll(48000, add(noise(96000, 1, 0.2), constant(96000, 0.5)))
	for i := range a.OctaveDB {
		assert.InDelta(t, a.OctaveDB[i], b.OctaveDB[i], 0.02, "an offset moves nothing")
	}
}

func BenchmarkLowEnd(b *testing.B) {
	x := noise(4096, 1, 0.5)
	m := New(48000, 2)
	b.SetBytes(2 * 4096 * 4)
	for b.Loop() {
		m.Write([][]float32{x, x})
	}
}
