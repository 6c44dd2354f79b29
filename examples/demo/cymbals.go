package demo

import (
	"math"
	"math/rand/v2"
)

// plate describes a cymbal: partials spread over a range, more of them the higher, each with its own decay.
type plate struct {
	partials   int
	loHz, hiHz float64
	decayS     float64 // at the low end
	duller     float64 // decay falls with (hz/lo)^-duller
	peakHz     float64 // where the spectrum is strongest
	octaveDB   float64 // fall per octave away from there
	wash       float64 // share of noise
	washHz     float64
	riseS      float64 // time in which energy climbs into the high partials
}

var (
	closedHat = plate{240, 420, 17000, 0.075, 0.15, 8000, 5, 0.8, 5000, 0}
	openHat   = plate{420, 380, 17000, 0.6, 0.25, 7000, 5, 0.8, 4000, 0.002}
	crash     = plate{420, 250, 17500, 2.4, 0.35, 4500, 4, 0.35, 3500, 0.012}
	ride      = plate{420, 330, 17000, 1.6, 0.5, 4500, 4, 0.25, 4000, 0.004}
)

// strike returns a hit of the cymbal.
func (p plate) strike(seconds, strength float64, r *rand.Rand) []float64 {
	x := make([]float64, samples(seconds))
	var modes []mode
	for range p.partials {
		hz := p.loHz + (p.hiHz-p.loHz)*math.Pow(r.Float64(), 1.25)
		level := -p.octaveDB*math.Abs(math.Log2(hz/p.peakHz)) + 8*(strength-0.8)*math.Log2(hz/2000)
		amp := decibels(level) * (0.4 + r.ExpFloat64()) * strength * 0.05
		decay := p.decayS * math.Pow(hz/p.loHz, -p.duller) * between(r, 0.7, 1.3)
		phase := between(r, 0, 2*math.Pi)
		modes = append(modes, mode{hz, decay, amp, phase})
		if p.riseS > 0 && hz > 2000 {
			modes = append(modes, mode{hz, p.riseS * between(r, 0.5, 1.5), -0.7 * amp, phase})
		}
	}
	ring(x, modes)
	n := noise(r, len(x))
	through(n, highPass(p.washHz, 0.7), lowPass(15000, 0.7))
	for i := range x {
		t := float64(i) / rate
		stick := math.Exp(-t / 0.003)
		x[i] += strength * p.wash * n[i] * (0.35*math.Exp(-t/(0.45*p.decayS)) + 0.25*stick)
	}
	fade(x, 8, len(x)/5)
	return x
}
