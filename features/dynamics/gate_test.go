package dynamics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestGate(t *testing.T) {
	second := func(db float64) []float32 { return sine(rate48, 1, 1000, math.Sqrt2*math.Pow(10, db/20)) }
	quiet := func(s float64) []float32 { return noise(rate48, s, 1e-4, 7) } // -80 dBFS
	tests := []struct {
		name   string
		signal []float32
		active float64
		source string
	}{
		{"tone throughout", second(-20), 1, "definition"},
		{"tone and hiss", joined(second(-20), quiet(3)), 0.25, "definition"},
		{"bleed 37 dB below", joined(second(-20), second(-57), second(-57)), 1. / 3, "definition: closes 36 dB below"},
		{"tail 33 dB below stays", joined(second(-20), second(-53), quiet(1)), 2. / 3, "definition: closes 36 dB below"},
		{"33 dB below does not open", joined(second(-53), second(-20), quiet(2)), 0.25, "definition: hysteresis"},
		{"rare and loud", joined(quiet(19), second(-20)), 0.05, "definition: level of the energy, not of the time"},
		{"below the absolute gate", second(-75), 0, "definition"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := envelope(rate48, 4800, tt.signal)
			assert.InDelta(t, tt.active, r.ActiveShare, 1e-3, tt.source)
			assert.Equal(t, tt.active == 0, r.Silent)
		})
	}
}

// The histogram of hysteresis levels must agree with a gate that knows its threshold.
func TestHysteresisAgainstAPlainGate(t *testing.T) {
	levels := make([]float64, 500)
	for i, v := range noise(1000, 0.5, 12, 3) {
		levels[i] = -40.05 + math.Round(float64(v)*10)/10 // middle of a bin
	}
	g := newGate(1)
	for _, db := range levels {
		g.add(100, math.Pow(10, db/10), []float64{1})
	}
	for threshold := -70.0; threshold < -10; threshold += 0.5 {
		open, samples := false, 0.0
		for _, db := range levels {
			open = db > threshold || open && db > threshold-hysteresisDB
			if open {
				samples += 100
			}
		}
		assert.InDelta(t, samples, above(&g.open, threshold), 1e-6, "opens at %g dB", threshold)
	}
}

func TestNoiseFloor(t *testing.T) {
	x := joined(hits(rate48, 5, 0.5, 500, 0.2, 0.5), make([]float32, 2*rate48))
	hiss := noise(rate48, 7, 1e-3, 5)
	for i := range x {
		x[i] += hiss[i]
	}
	x = append(x, make([]float32, 5*rate48)...)
	assert.InDelta(t, -60, envelope(rate48, 4096, x).NoiseFloorDB, 0.5, "invented: hiss at -60 dBFS, then digital silence")
}

func TestClippedRuns(t *testing.T) {
	clipped := func(hz, over, at float64) []float32 { // ten periods
		return sampled(rate48, 10/hz, func(t float64) float64 { return at * min(max(over*math.Sin(2*math.Pi*hz*t), -1), 1) })
	}
	rounded := func(x []float32) []float32 { // to 16 bits
		y := make([]float32, len(x))
		for i, v := range x {
			y[i] = float32(math.Round(float64(v)*32767) / 32768)
		}
		return y
	}
	soft := sine(rate48, 1, 50, 0.01)
	tests := []struct {
		name   string
		signal []float32
		want   int
	}{
		{"sine", sine(rate48, 1, 440, 0.9), 0},
		{"sine at full scale", sine(rate48, 1, 997, 32767.0/32768), 0},
		{"clipped at full scale", clipped(440, 2, 1), 20},
		{"clipped, 16 bits", rounded(clipped(440, 2, 1)), 20},
		{"clipped and turned down", joined(soft, clipped(440, 2, 0.5)), 20},
		{"clipped by 1 dB, 50 Hz, 16 bits, turned down", rounded(joined(soft, clipped(50, 1.12, 0.3))), 20},
		{"low notes in 16 bits are rounded, not clipped", rounded(sine(rate48, 1, 40, 0.1)), 0},
		{"low notes in 8 bits", scaled(rounded(sine(rate48, 1, 40, 100./32768)), 256), 0},
		{"faint low notes in 16 bits", rounded(sine(rate48, 1, 40, 0.001)), 0},
		{"beyond full scale", sine(rate48, 0.01, 1000, 2), 20},
		{"two samples are no run", []float32{0, 1, 1, 0, -1, -1, 0}, 0},
		{"three are", []float32{0, 1, 1, 1, 0, -1, -1, -1}, 2},
		{"digital silence", make([]float32, 1000), 0},
		{"constant", sampled(rate48, 0.1, func(float64) float64 { return 0.5 }), 0},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			assert.Equal(t, tt.want, envelope(rate48, 100, tt.signal).ClippedRuns, "invented: two a period")
			assert.Equal(t, tt.want, envelope(rate48, 1, scaled(tt.signal, -1)).ClippedRuns, "polarity")
		})
	}
}
