package demo

import "math"

// cabinet returns the impulse response of a guitar loudspeaker in its box under a close microphone: nothing below the
// cone's resonance, a rise where the cone breaks up, and little above 5 kHz.
func cabinet(name string, topHz, breakUpDB float64) []float64 {
	r := newRand("cabinet " + name)
	x := make([]float64, 1024)
	x[0] = 1
	through(x, highPass(82, 1), bell(118, 4, 1.4), bell(420, -3, 1), bell(between(r, 2300, 2900), breakUpDB, 1.3),
		bell(between(r, 3500, 4000), 3, 3), lowPass(topHz, 1), lowPass(topHz*1.08, 0.7), lowPass(topHz*1.3, 0.6))
	y := make([]float64, len(x))
	mixInto(y, x, 0, 1)
	for range 6 { // edges of the box, the floor
		mixInto(y, x, samples(between(r, 0.0002, 0.0045)), between(r, -0.16, 0.16))
	}
	fade(y, 0, 512)
	return y
}

// amplify drives a guitar amplifier of two stages: x is the pickup's signal with a peak near 1.
func amplify(x []float64, drive float64, speaker []float64) []float64 {
	through(x, highPass(90, 0.7), highShelf(1500, 5))
	softClip(x, drive, 0.25)
	through(x, highPass(40, 0.7), bell(550, -5, 0.7), bell(1700, 2, 0.8), lowPass(9000, 0.7))
	softClip(x, 1+0.6*drive, 0.1)
	through(x, highPass(40, 0.7))
	return convolve(x, speaker)
}

// pickup is the resonance of a magnetic pickup with its cable.
func pickup(x []float64, hz, q float64) { through(x, lowPass(hz, q), highPass(30, 0.7)) }

// woodenBody is the impulse response from bridge to microphone of a guitar body: the air resonance, the top's first
// modes, and a thicket above. Frequencies of the first three are those of a common large guitar (common practice).
func woodenBody(name string, airHz, topHz float64, n int) []float64 {
	r := newRand("body " + name)
	modes := []mode{
		{airHz, 0.04, 0.05, 0}, {topHz, 0.025, 0.06, 1}, {topHz * 1.9, 0.015, 0.05, 2},
	}
	for range 60 {
		hz := 350 * math.Pow(18, r.Float64())
		modes = append(modes, mode{hz, 0.003 + 6/hz, 0.035 * math.Pow(hz/500, -0.15) * r.NormFloat64(), between(r, 0, 6.28)})
	}
	x := make([]float64, n)
	ring(x, modes)
	x[0] += 0.8
	fade(x, 0, n/2)
	return x
}

// space returns an impulse response of a room: reflections that grow denser and duller as they decay.
// The direct sound is not in it.
func space(name string, predelayS, decayS, dullHz float64) []float64 {
	r := newRand("space " + name)
	n := samples(predelayS + decayS)
	x := make([]float64, n)
	from := samples(predelayS)
	var dull float64
	for i := from; i < n; i++ {
		t := float64(i-from) / rate
		density := math.Min(1, 0.01+t/0.06) // single reflections first
		var v float64
		if r.Float64() < density {
			v = r.NormFloat64() / math.Sqrt(density)
		}
		cut := dullHz * math.Exp(-2.2*t/decayS)
		c := math.Exp(-2 * math.Pi * cut / rate)
		dull = c*dull + (1-c)*v
		x[i] = dull * math.Pow(1e-3, t/decayS)
	}
	fade(x, 0, n/8)
	var e float64
	for _, v := range x {
		e += v * v
	}
	scale(x, 1/math.Sqrt(e))
	through(x, highPass(60, 0.7))
	return x
}
