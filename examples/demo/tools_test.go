package demo

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestRingIsTheSumOfItsModes(t *testing.T) {
	modes := []mode{{440, 0.5, 0.5, 0.3}, {1234.5, 0.05, 0.2, 1}, {61, 0.3, 1, 0}, {9000, 0.01, 0.1, 2}, {300, 0.02, -0.4, 0.5}}
	want := make([]float64, 8000)
	for _, m := range modes {
		for i := range want {
			s := float64(i) / rate
			want[i] += m.amp * math.Exp(-s/m.decayS) * math.Sin(2*math.Pi*m.hz*s+m.phase)
		}
	}
	got := make([]float64, len(want))
	ring(got, modes)
	assert.InDeltaSlice(t, want, got, 5*inaudible)
}

func TestConvolveMatchesTheDefinition(t *testing.T) {
	r := newRand("test")
	for _, n := range []int{1, 50, 5000, 20000} {
		x, h := noise(r, n), noise(r, 37)
		want := make([]float64, n)
		for i := range x {
			for k := 0; k < len(h) && k <= i; k++ {
				want[i] += h[k] * x[i-k]
			}
		}
		assert.InDeltaSlice(t, want, convolve(x, h), 1e-9)
	}
}

func TestFiltersHaveTheirGains(t *testing.T) {
	// the cookbook's definitions: gain at 0 Hz, at the corner (Q, or half the shelf in decibels), at half the rate
	cases := []struct {
		name   string
		f      biquad
		hz, db float64
	}{
		{"low-pass, far below", lowPass(1000, 0.7), 1, 0},
		{"low-pass, at the corner", lowPass(1000, 2), 1000, 20 * math.Log10(2)},
		{"high-pass, at the corner", highPass(1000, 0.5), 1000, -20 * math.Log10(2)},
		{"high-pass, far above", highPass(100, 0.7), 20000, 0},
		{"band-pass, at its centre", bandPass(3000, 2), 3000, 0},
		{"bell", bell(500, -7, 1), 500, -7},
		{"bell, far away", bell(500, -7, 1), 20000, 0},
		{"high shelf, above", highShelf(1000, 5), 23000, 5},
		{"high shelf, at the corner", highShelf(1000, 5), 1000, 2.5},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			z := cmplx.Rect(1, -2*math.Pi*c.hz/rate)
			at := func(a, b, c float64) complex128 {
				return complex(a, 0) + complex(b, 0)*z + complex(c, 0)*z*z
			}
			gain := at(c.f.b0, c.f.b1, c.f.b2) / at(1, c.f.a1, c.f.a2)
			assert.InDelta(t, c.db, 20*math.Log10(cmplx.Abs(gain)), 0.05)
		})
	}
}

func TestSoftClipIsTanhAndBounded(t *testing.T) {
	x := make([]float64, rate)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 20 * float64(i) / rate)
	}
	y := append([]float64(nil), x...)
	softClip(y, 3, 0.2)
	for i := 1; i < len(x); i++ {
		middle := (x[i] + x[i-1]) / 2 // the method is half a sample late
		assert.InDelta(t, math.Tanh(3*middle+0.2)-math.Tanh(0.2), y[i], 1e-4)
		if t.Failed() {
			break
		}
	}
}

func TestCompressorTurnsDownByItsRatio(t *testing.T) {
	loud := make([]float64, rate)
	for i := range loud {
		loud[i] = 1
	}
	compress(-20, 4, 0.001, 0.05, loud)
	assert.InDelta(t, -15, 20*math.Log10(loud[rate-1]), 0.1) // 20 dB over at 4:1 leaves 5 dB over
	silence := make([]float64, 100)
	compress(-20, 4, 0.001, 0.05, silence)
	assert.Zero(t, peakOf(silence))
}

func TestWaveTablesAreBandLimited(t *testing.T) {
	table := saw()
	for _, hz := range []float64{41, 98, 220, 440, 1200} {
		x := table.forPitch(hz)[:tableSize]
		for k := int(rate/2/hz) + 1; k < tableSize/2; k += 7 {
			var c complex128
			for i, v := range x {
				c += complex(v, 0) * cmplx.Rect(1, -2*math.Pi*float64(k*i%tableSize)/tableSize)
			}
			assert.Less(t, cmplx.Abs(c)/tableSize, 1e-9)
		}
	}
}

func TestPartsLieWithinTheirInstruments(t *testing.T) {
	// textbook ranges: bass guitar E1-G4, tenor saxophone Ab2-E5, trumpet E3-Bb5, trombone E2-Bb4, mezzo-soprano
	// A3-A5; men's choir parts E2-A4
	inside := func(name string, notes []note, lo, hi float64) {
		assert.NotEmpty(t, notes, name)
		for _, n := range notes {
			assert.GreaterOrEqual(t, n.pitch, lo, name)
			assert.LessOrEqual(t, n.pitch, hi, name)
			assert.LessOrEqual(t, n.beat+n.beats, last+0.1, name)
			assert.Greater(t, n.beats, 0.0, name)
			assert.True(t, n.strength > 0 && n.strength <= 1, name)
		}
	}
	inside("bass", bassNotes(), 28, 67)
	inside("piano", pianoNotes(), 21, 108)
	inside("lead guitar", leadNotes, 40, 88)
	inside("trumpet", sectionPart(0), 52, 82)
	inside("saxophone", sectionPart(1), 44, 76)
	inside("trombone", sectionPart(3), 40, 70)
	words := func(part []sung) []note {
		var out []note
		for _, s := range part {
			out = append(out, s.note)
		}
		return out
	}
	inside("lead vocal", words(melody), 57, 81)
	for _, s := range choir {
		lo, hi := 57.0, 81.0
		if !s.woman {
			lo, hi = 40, 69
		}
		inside(s.name, words(harmonyPart(s.backingBelow, s.backingVowel, s.backingFromBt, s.low, s.high)), lo, hi)
	}
}

func TestHarmonyFillsTheSong(t *testing.T) {
	beat := 0.0
	for _, c := range harmony {
		assert.Equal(t, beat, c.beat)
		beat += c.beats
		for _, p := range append([]float64{c.bass}, c.guitar...) {
			assert.Contains(t, c.tones, math.Mod(p, 12))
		}
	}
	assert.Equal(t, last, beat)
	assert.Greater(t, lengthS, seconds(last))
}
