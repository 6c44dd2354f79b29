package dynamics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

const rate48 = 48000

func TestCrestFactors(t *testing.T) {
	tests := []struct {
		name   string
		signal []float32
		want   float64
		delta  float64
		source string
	}{
		{"sine", sine(rate48, 2, 1000, 0.5), 10 * math.Log10(2), 1e-4, "closed form"},
		{"square", sampled(rate48, 2, func(t float64) float64 { return math.Copysign(0.25, math.Sin(2*math.Pi*100*(t+1e-6))) }), 0, 1e-9, "closed form"},
		{"triangle", sampled(rate48, 2, func(t float64) float64 { return 4*math.Abs(math.Mod(100*t, 1)-0.5)/2 - 0.5 }), 10 * math.Log10(3), 1e-3, "closed form"},
		{"constant", sampled(rate48, 2, func(float64) float64 { return 0.25 }), 0, 1e-9, "closed form"},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := envelope(rate48, 1000, tt.signal)
			assert.InDelta(t, tt.want, r.CrestDB, tt.delta, tt.source)
			assert.InDelta(t, tt.want, r.PlainCrestDB, tt.delta, tt.source)
		})
	}
}

func TestCrestWhileSoundingIgnoresGaps(t *testing.T) {
	x := joined(sine(rate48, 1, 1000, 0.5), make([]float32, 9*rate48))
	r := envelope(rate48, 4096, x)
	assert.InDelta(t, 3.0103, r.CrestDB, 1e-3, "closed form: the gap does not count")
	assert.InDelta(t, 13.0103, r.PlainCrestDB, 1e-3, "closed form: a tenth of the energy")
	assert.InDelta(t, 0.1, r.ActiveShare, 1e-9, "invented: 1 s of 10")
}

func TestOnsetRate(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	notes := func(rate int, seconds, period float64) []float32 { // equal level, other pitch, no gap
		phase := 0.0
		scale := []float64{220, 330, 262, 392, 294}
		return sampled(rate, seconds, func(t float64) float64 {
			phase += 2 * math.Pi * scale[int(t/period)%len(scale)] / float64(rate)
			return 0.3 * (math.Sin(phase) + 0.5*math.Sin(2*phase) + 0.3*math.Sin(3*phase))
		})
	}
	tests := []struct {
		name   string
		signal []float32
		want   float64
		delta  float64
	}{
		{"clicks, 2 a second", clicks(rate48, 20, 0.5), 2, 0.05},
		{"clicks, 8 a second", clicks(rate48, 20, 0.125), 8, 0.1},
		{"notes that fall 20 dB in 0.2 s, 4 a second", hits(rate48, 20, 0.25, 200, 0.2, 0.5), 4, 0.1},
		{"low notes, 2 a second", hits(rate48, 20, 0.5, 41.2, 0.6, 0.5), 2, 0.1},
		{"legato, 2 a second", notes(rate48, 20, 0.5), 2, 0.15},
		{"steady tone: its start", sine(rate48, 20, 100, 0.5), 0.05, 1e-9},
		{"low steady tone: its start", sine(rate48, 20, 30, 0.5), 0.05, 1e-9},
		{"steady noise: its start", noise(rate48, 20, 0.1, 1), 0.05, 1e-9},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := analyse(rate48, 4096, tt.signal)
			assert.InDelta(t, tt.want, r.OnsetRateHz, tt.delta, "invented: rate as made")
		})
	}
}

func TestDecayOfKnownExponentials(t *testing.T) {
	for _, hz := range []float64{60, 200, 1000} {
		for _, fall := range []float64{0.1, 0.2, 0.5, 1.5} {
			x := hits(rate48, 12, 2*fall+0.1, hz, fall, 0.5)
			assert.InEpsilon(t, fall, envelope(rate48, 4096, x).DecayS, 0.12, "invented: %g Hz falls 20 dB in %g s", hz, fall)
		}
	}
}

func TestAttackOfKnownRises(t *testing.T) {
	for _, rise := range []float64{0.02, 0.05, 0.1, 0.2} {
		x := sampled(rate48, 20, func(t float64) float64 {
			u := math.Mod(t, 1)
			if u > 0.7 {
				return 0
			}
			return 0.5 * min(u/rise, 1) * math.Sin(2*math.Pi*440*t)
		})
		r := envelope(rate48, 4096, x)
		assert.InEpsilon(t, 0.8*rise, r.AttackS, 0.15, "closed form: 10 to 90 %% of a straight rise in %g s", rise)
	}
}

func TestTransientToSustain(t *testing.T) {
	const fall = 0.2 // mean of 10^(-2u/fall) over 0..25 ms and 50..150 ms
	mean := func(a, b float64) float64 {
		k := 2 * math.Ln10 / fall
		return (math.Exp(-k*a) - math.Exp(-k*b)) / (k * (b - a))
	}
	want := 10 * math.Log10(mean(0, 0.025)/mean(0.05, 0.15))
	r := envelope(rate48, 4096, hits(rate48, 12, 0.5, 1000, fall, 0.5))
	assert.InDelta(t, want, r.TransientToSustainDB, 0.5, "closed form")
	r = envelope(rate48, 4096, sine(rate48, 5, 1000, 0.5))
	assert.InDelta(t, 0, r.TransientToSustainDB, 0.01, "closed form: a tone that starts at once and stays")
}

func TestTonality(t *testing.T) {
	for _, hz := range []float64{82.4, 220, 997, 3000} {
		assert.Greater(t, analyse(rate48, 4096, sine(rate48, 5, hz, 0.5)).Tonality, 0.97, "FitzGerald 2010: a steady tone of %g Hz is harmonic", hz)
	}
	assert.Less(t, analyse(rate48, 4096, clicks(rate48, 10, 0.5)).Tonality, 0.03, "FitzGerald 2010: a click is percussive")
	assert.InDelta(t, 0.5, analyse(rate48, 4096, noise(rate48, 10, 0.1, 2)).Tonality, 0.05, "symmetry: noise is alike along both axes")
}

// What does not fall has no decay, what is there from the first sample no attack, however long or short the file.
func TestNothingDecayed(t *testing.T) {
	for name, x := range map[string][]float32{
		"steady tone":       sine(rate48, 10, 440, 0.3),
		"0.4 s of a tone":   sine(rate48, 0.4, 440, 0.3),
		"0.4 s, low":        sine(rate48, 0.4, 55, 0.3),
		"steady noise":      noise(rate48, 5, 0.1, 3),
		"falls 1 dB in 4 s": sampled(rate48, 4, func(t float64) float64 { return 0.3 * math.Pow(10, -t/80) * math.Sin(2*math.Pi*300*t) }),
	} {
		r := analyse(rate48, 4096, x)
		assert.Zero(t, r.DecayS, name)
		assert.Zero(t, r.AttackS, name)
	}
	r := analyse(rate48, 4096, joined(make([]float32, rate48/2), sine(rate48, 3, 440, 0.3)))
	assert.Zero(t, r.DecayS)
	assert.InDelta(t, 0.004, r.AttackS, 0.003, "closed form: it starts at once, in steps of 5 ms")
}
