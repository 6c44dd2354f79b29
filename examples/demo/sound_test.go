package demo

import (
	"math"
	"math/cmplx"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// line is the complex level of x at a frequency over a Hann window.
func line(x []float64, hz float64) complex128 {
	var sum complex128
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(len(x)))
		sum += complex(w*v, 0) * cmplx.Rect(1, -2*math.Pi*hz*float64(i)/rate)
	}
	return sum / complex(float64(len(x))/4, 0)
}

// centsOff measures how far the partial near hz is from it, from the advance of its phase over 20 ms.
func centsOff(x []float64, hz float64) float64 {
	const ahead = rate / 50
	n := len(x) - ahead
	turn := cmplx.Phase(line(x[ahead:], hz) / line(x[:n], hz) * cmplx.Rect(1, -2*math.Pi*hz*ahead/rate))
	return 1200 * math.Log2(1+turn/(2*math.Pi*ahead/rate)/hz)
}

// power is the power of x between two frequencies.
func power(x []float64, lo, hi float64) float64 {
	y := append([]float64(nil), x...)
	through(y, highPass(lo, 0.54), highPass(lo, 1.31), lowPass(hi, 0.54), lowPass(hi, 1.31)) // Butterworth, order 4
	var sum float64
	for _, v := range y {
		sum += v * v
	}
	return sum / float64(len(y))
}

func TestNotesAreInTune(t *testing.T) {
	// frequencies: ISO 16:1975 with f = 440 * 2^((m-69)/12)
	cases := []struct {
		name     string
		note, hz float64
		cents    float64
		play     func(note float64) []float64
	}{
		{"bass, low E", 28, 41.2034, 3, stringNote(bassString)},
		{"bass, G", 43, 97.9989, 3, stringNote(bassString)},
		{"electric guitar, A string", 45, 110, 3, stringNote(electricString)},
		{"lead guitar, E5", 76, 659.2551, 3, stringNote(leadString)},
		{"acoustic guitar, high E", 64, 329.6276, 3, stringNote(steelString)},
		{"acoustic guitar, low E", 40, 82.4069, 3, stringNote(steelString)},
		{"piano, C4", 60, 261.6256, 4, func(note float64) []float64 { return pianoNote(note, 0.7, 1.5, newRand("test")) }},
		{"trumpet, A4", 69, 440, 15, windNote(trumpet)}, // players are not machines: 3 cents of scatter, and flutter
		{"trombone, C4", 60, 261.6256, 15, windNote(trombone)},
		{"soprano, A4", 69, 440, 15, func(note float64) []float64 { return sungNote(leadSinger, note, "a") }},
		{"bass singer, G2", 43, 97.9989, 15, func(note float64) []float64 { return sungNote(choir[5], note, "o") }},
	}
	for _, c := range cases {
		t.Run(c.name, func(t *testing.T) {
			assert.InDelta(t, c.hz, noteHz(c.note), 0.0001)
			x := c.play(c.note)
			require.Greater(t, len(x), samples(0.8))
			assert.InDelta(t, 0, centsOff(x[samples(0.3):samples(0.8)], c.hz), c.cents)
		})
	}
}

func stringNote(p pluck) func(float64) []float64 {
	return func(note float64) []float64 {
		x := make([]float64, samples(1))
		ringString(x, 0, len(x), noteHz(note), 0.8, p, nil, newRand("test"))
		return x
	}
}

func windNote(w wind) func(float64) []float64 {
	w.vibrato = 0
	return func(pitch float64) []float64 {
		x := make([]float64, samples(2.5))
		w.blow(x, note{0, 4, pitch, 0.8}, pitch, newRand("test"))
		return x[samples(firstBeatS):]
	}
}

// sungNote is a long note without vibrato, from its attack on.
func sungNote(s singer, pitch float64, text string) []float64 {
	s.vibratoCents, s.looseCents, s.looseS = 0, 0, 0
	x := s.sing([]sung{{note{0, 4, pitch, 0.8}, text}}, false)
	return x[samples(firstBeatS):samples(firstBeatS+2)]
}

func TestStringsDecayAsTheyAreSet(t *testing.T) {
	p := steelString
	p.decayS = 1.5
	x := make([]float64, samples(1))
	ringString(x, 0, len(x), 110, 0.8, p, nil, newRand("test"))
	early, late := cmplx.Abs(line(x[:samples(0.3)], 110)), cmplx.Abs(line(x[samples(0.6):samples(0.9)], 110))
	assert.InDelta(t, -60*0.6/1.5, 20*math.Log10(late/early), 1) // definition of decay to -60 dB
}

func TestLouderIsBrighterOnWinds(t *testing.T) {
	for _, w := range []wind{trumpet, saxophone, trombone} {
		var share [2]float64
		for i, strength := range []float64{0.4, 1} {
			x := make([]float64, samples(1.2))
			w.blow(x, note{0, 1.5, 62, strength}, 62, newRand("test"))
			share[i] = power(x, 2500, 10000) / power(x, 100, 10000)
		}
		assert.Greater(t, share[1], 2*share[0], w.name)
	}
}

func TestVowelsHaveTheirFormants(t *testing.T) {
	// second formants of men, Peterson and Barney 1952: heed 2290 Hz, hod 1090 Hz, who'd 870 Hz
	man := choir[4]
	man.tract, man.breath = 1, 0
	ratio := func(vowel string) float64 {
		x := sungNote(man, 45, vowel)
		return 10 * math.Log10(power(x, 2000, 2600)/power(x, 900, 1300))
	}
	assert.Greater(t, ratio("i"), 6.0)
	assert.Less(t, ratio("a"), -6.0)
	assert.Less(t, ratio("u"), -6.0)
}

func TestSibilantsHiss(t *testing.T) {
	s := consonants["s"]
	hiss := make([]float64, samples(0.3))
	leadSinger.speak(s, make([]control, 1), hiss, 0.1, 1, newRand("test"))
	assert.Greater(t, power(hiss, 5000, 9000), 0.5*power(hiss, 50, 20000)) // common practice: 5 to 9 kHz
}

func TestSingersDiffer(t *testing.T) {
	var x [][]float64
	for _, s := range choir[:3] {
		x = append(x, sungNote(s, 67, "a"))
	}
	for i := range x {
		for j := range i {
			assert.NotEqual(t, x[i], x[j])
			a, b := x[i][samples(0.5):], x[j][samples(0.5):]
			apart := 0.0
			for k := 1.0; k <= 8; k++ {
				level := math.Log10(cmplx.Abs(line(a, 392*k)) / cmplx.Abs(line(b, 392*k)))
				apart += math.Abs(20 * level)
			}
			assert.Greater(t, apart/8, 1.5, "mean difference of the partials in decibels")
		}
	}
}

func TestBleedFollowsDistance(t *testing.T) {
	click := make([]float32, samples(lengthS))
	click[1000] = 1
	omni := microphone{at: place{0, 0, 0}, aim: place{1, 0, 0}}
	for _, metres := range []float64{0.343, 1, 3.43} {
		x := omni.hear([]source{{at: place{metres, 0, 0}, sound: click}})
		first, sum := 0, 0.0
		for i, v := range x {
			if first == 0 && v > 1e-6 {
				first = i
			}
			sum += v
		}
		assert.InDelta(t, 1000+metres/343*rate, float64(first), 1) // sound in air at 20 degrees: 343 m/s
		assert.InDelta(t, 1/metres, sum, 0.02/metres)
	}
	cardioid := microphone{at: place{0, 0, 0}, aim: place{1, 0, 0}, pattern: 0.5}
	front := peakOf(cardioid.hear([]source{{at: place{1, 0, 0}, sound: click}}))
	side := peakOf(cardioid.hear([]source{{at: place{0, 1, 0}, sound: click}}))
	back := peakOf(cardioid.hear([]source{{at: place{-1, 0, 0}, sound: click}}))
	assert.Less(t, side, 0.55*front)
	assert.Less(t, back, 0.1*front)
}

func TestMembraneRatiosAreBesselZeros(t *testing.T) {
	for _, ratio := range membrane {
		least := 1.0
		for m := range 8 {
			least = math.Min(least, math.Abs(math.Jn(m, 2.404826*ratio)))
		}
		assert.Less(t, least, 0.001, ratio)
	}
}
