package kinship

import (
	"encoding/json"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// reference holds figures of scipy 1.10.1 (numpy 1.24.2), made by testdata/reference.py.
type reference struct {
	FrequencyHz []float64 `json:"frequency_hz"`
	Coherence   []float64 `json:"coherence"`
	NNLS        []float64 `json:"nnls"`
}

func readReference(t *testing.T) (r reference) {
	b, err := os.ReadFile("testdata/reference.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(b, &r))
	return r
}

// congruential is the generator of testdata/reference.py.
func congruential(n int, seed uint32) []float64 {
	out := make([]float64, n)
	for i := range out {
		seed = 1664525*seed + 1013904223
		out[i] = float64(seed)/(1<<31) - 1
	}
	return out
}

// spectraOf is the analyser's work without the rounding of a chunk.
func spectraOf(x []float64) *spectra {
	a, s := newAnalyser(fine, 1), newSpectra(fine, 1)
	for i, v := range x {
		a.wave[i] = float32(v)
	}
	a.spectra(1, s)
	return s
}

func TestCoherenceAgainstScipy(t *testing.T) {
	want := readReference(t)
	x, e := congruential(chunkSamples, 1), congruential(chunkSamples, 2)
	y := make([]float64, chunkSamples)
	for i := range y {
		y[i] = 0.4 * e[i]
		if i > 0 {
			y[i] += 0.3 * y[i-1]
		}
		if i >= 5 {
			y[i] += 0.6 * x[i-5]
		}
	}
	first, _ := fine.bins()
	c := newCross(0, 1, fine, []int{0})
	c.add(spectraOf(x), spectraOf(y), 0, fine.frames())
	require.NotEmpty(t, want.FrequencyHz)
	for i, hz := range want.FrequencyHz {
		b := int(math.Round(hz*float64(fine.size)/waveRateHz)) - first
		re, im, _ := c.at(0, b)
		assert.InDelta(t, want.Coherence[i], (re*re+im*im)/c.xx[b]/c.yy[b], 1e-5, "%g Hz", hz)
	}
}

func TestNonNegativeAgainstScipy(t *testing.T) {
	columns := make([][]float64, 4)
	for k := range columns {
		columns[k] = congruential(12, uint32(10+k))
		for i := range columns[k] {
			columns[k][i] += 0.3
		}
	}
	y := congruential(12, 20)
	gram, slope := make([]float64, 16), make([]float64, 4)
	for i := range columns {
		for k := range y {
			slope[i] -= columns[i][k] * y[k]
			for j := range columns {
				gram[4*i+j] += columns[i][k] * columns[j][k]
			}
		}
	}
	got := nonNegative(gram, slope, 1e9)
	for k, w := range readReference(t).NNLS {
		assert.InDelta(t, w, got[k], 1e-4)
	}
}

// TestDelayAccuracy: white noise late by known numbers of samples at 48 kHz, either polarity, with as much noise again
// in one of the two. Delays follow from the making.
func TestDelayAccuracy(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	x := whiteNoise(12*testRate, 1, 0.1)
	for _, samples := range []int{0, 1, 7, 100, 1000, 4000} {
		for _, k := range []float64{1, -0.5} {
			y := sum(gain(delayed(x, samples), k), whiteNoise(len(x), 2, 0.05))
			p := Compare([]Sketch{sketchOf(testRate, 0, x), sketchOf(testRate, 0, y)}).pairs
			require.Len(t, p, 1)
			assert.InDelta(t, float64(samples)/testRate, p[0].LagSeconds, 1e-5, "%d samples", samples)
			assert.Equal(t, k < 0, p[0].Flipped)
		}
	}
}

// TestCoherenceOfNoise: with noise of the same power added to one side the coherence is 1/2 by definition, and 0 for
// independent noises.
func TestCoherenceOfNoise(t *testing.T) {
	x, n := whiteNoise(30*testRate, 1, 0.1), whiteNoise(30*testRate, 2, 0.1)
	set := []Sketch{sketchOf(testRate, 0, x), sketchOf(testRate, 0, sum(x, n)), sketchOf(testRate, 0, n)}
	for _, p := range Compare(set).pairs {
		want := 0.5
		if p.A == 0 && p.B == 2 {
			want = 0
		}
		assert.InDelta(t, want, p.Coherence, 0.02, "%d %d", p.A, p.B)
	}
}
