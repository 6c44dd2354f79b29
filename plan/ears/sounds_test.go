package ears

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features/spectrum"
	"foldout/features/timbre"
)

const rate = 48000

func listen(x []float32) []float64 {
	m := timbre.New(rate, 1)
	s := spectrum.NewStream(rate, 1, m)
	s.Write([][]float32{x})
	s.Close()
	m.Write([][]float32{x})
	return Probabilities(m.Vector())
}

func sum(p []float64, roles ...string) float64 {
	var s float64
	for _, r := range roles {
		s += p[slices.Index(Roles, r)]
	}
	return s
}

// every draws a sound of so many seconds again and again.
func every(seconds float64, f func(t float64) float64) []float32 {
	x := make([]float32, 10*rate)
	for i := range x {
		x[i] = float32(0.3 * f(math.Mod(float64(i)/rate, seconds)))
	}
	return x
}

// The sounds are invented, drawn from the textbook picture of the instrument; the model was not trained on them.
func TestPlainSoundsAreHeardForWhatTheyAre(t *testing.T) {
	r := rand.New(rand.NewPCG(7, 7))
	kick := every(0.5, func(t float64) float64 {
		return math.Exp(-t/0.09)*math.Sin(2*math.Pi*(50*t+1.2*(1-math.Exp(-t/0.03)))) + 0.2*math.Exp(-t/0.004)*r.NormFloat64()
	})
	var last float64
	hat := every(0.25, func(t float64) float64 {
		n := r.NormFloat64()
		d := n - last
		last = n
		return 0.5 * d * math.Exp(-t/0.03)
	})
	bass := make([]float32, 10*rate)
	guide := []float64{41.2, 55, 49, 61.7}
	for i := range bass {
		ts := float64(i) / rate
		hz, since := guide[int(ts/0.5)%4], math.Mod(ts, 0.5)
		for h := 1.0; h <= 12; h++ {
			bass[i] += float32(0.2 / h * math.Exp(-since*(1+h)) * math.Sin(2*math.Pi*h*hz*ts))
		}
	}
	for name, c := range map[string]struct {
		sound []float32
		roles []string
		least float64
	}{
		"kick":                      {kick, []string{"kick", "tom"}, 0.6},
		"hat":                       {hat, []string{"hat", "percussion", "cymbal"}, 0.6},
		"bass":                      {bass, []string{"bass"}, 0.5},
		"kick belongs to the drums": {kick, []string{"kick", "snare", "tom", "drums", "hat", "cymbal", "overhead", "room", "percussion", "bass"}, 0.9},
	} {
		t.Run(name, func(t *testing.T) {
			p := listen(c.sound)
			assert.Greater(t, sum(p, c.roles...), c.least, "heard as %v", describe(p))
		})
	}
}

// describe names what was heard, for the messages of failing tests.
func describe(p []float64) map[string]float64 {
	m := map[string]float64{}
	for i, v := range p {
		if v > 0.05 {
			m[Roles[i]] = v
		}
	}
	return m
}

// A change of gain or polarity moves no probability (definition of the vector).
func TestGainAndPolarityMoveNothing(t *testing.T) {
	r := rand.New(rand.NewPCG(3, 9))
	x := every(0.3, func(t float64) float64 {
		return math.Exp(-t/0.1) * (math.Sin(2*math.Pi*220*t) + 0.3*math.Sin(2*math.Pi*440*t) + 0.05*r.NormFloat64())
	})
	want := listen(x)
	for _, gain := range []float32{-1, 3.98, -0.251} {
		y := make([]float32, len(x))
		for i := range x {
			y[i] = gain * x[i]
		}
		assert.InDeltaSlice(t, want, listen(y), 0.01)
	}
}
