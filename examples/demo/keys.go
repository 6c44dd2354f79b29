package demo

import (
	"math"
	"math/rand/v2"
)

// pianoNote is one note: stiff strings, two per note, each partial with a prompt sound that dies fast and an
// aftersound that lingers (Weinreich, JASA 62, 1977). left and right are how the two microphones hear it.
func pianoNote(pitch, strength, length float64, r *rand.Rand) []float64 {
	hz := noteHz(pitch)
	stiffness := 0.00035 * math.Exp2((pitch-60)/9) // inharmonicity of a small grand, common practice
	x := make([]float64, samples(length+0.25))
	var modes []mode
	bright := 2400 + 5000*strength*strength // hammer felt hardens with the blow
	decay := 18 * math.Exp2(-(pitch-40)/16)
	for k := 1.0; k <= 40; k++ {
		f := hz * k * math.Sqrt(1+stiffness*k*k)
		if f > 10000 {
			break
		}
		strike := math.Abs(math.Sin(math.Pi * k / 8)) // the hammer meets the string at an eighth
		amp := strength * (0.06 + 0.94*strike) / math.Pow(k, 0.6) * math.Exp(-f/bright) * between(r, 0.6, 1.4)
		if f < 110 {
			amp *= math.Pow(f/110, 1.5) // the soundboard radiates little down there
		}
		tau := decay / 6.9 / (1 + 0.12*k)
		phase := between(r, 0, 0.6)
		modes = append(modes, mode{f, 0.22 * tau, 0.2 * amp, phase}, mode{f * (1 + 0.00025*r.NormFloat64()), tau, 0.13 * amp, phase})
	}
	ring(x, modes)
	damped := samples(length)
	for i := damped; i < len(x); i++ { // the damper falls
		x[i] *= math.Exp(-float64(i-damped) / rate / 0.05)
	}
	knock := noise(r, samples(0.05))
	through(knock, bandPass(350, 0.7))
	for i := range knock {
		knock[i] *= 0.05 * strength * math.Exp(-float64(i)/rate/0.012)
	}
	mixInto(x, knock, 0, 1)
	fade(x, 20, samples(0.05))
	return x
}

func pianoNotes() []note {
	var out []note
	for _, c := range harmony {
		low := c.bass + 12
		right := c.voicing(74, 3)
		if c.beat >= chorus {
			right = c.voicing(79, 4)
		}
		chord := func(beat, beats, strength float64) {
			for _, p := range right {
				out = append(out, note{beat, beats, p, strength})
			}
		}
		out = append(out, note{c.beat, c.beats * 0.95, low, 0.5})
		switch {
		case c.beat == ending:
			chord(c.beat, 4, 0.85)
			out = append(out, note{c.beat, 4, low - 12, 0.5})
		case c.beats == 4 && c.beat < verse:
			for i, k := range []int{0, 1, 2, 1, 0, 1, 2, 1} { // broken
				out = append(out, note{c.beat + float64(i)/2, 0.9, right[k], 0.55 + 0.1*float64(k%2)})
			}
		case c.beats == 4:
			out = append(out, note{c.beat + 2, 1.9, low + 7, 0.55})
			chord(c.beat, 0.9, 0.6)
			chord(c.beat+1.5, 0.9, 0.5)
			chord(c.beat+3, 0.9, 0.55)
		default:
			out = append(out, note{c.beat, 1.9, low - 12, 0.45})
			chord(c.beat, 0.7, 0.8)
			chord(c.beat+0.75, 0.7, 0.65)
			chord(c.beat+1.5, 0.45, 0.7)
		}
	}
	return out
}

// piano returns left and right, low notes towards the left as the player sees them.
func piano() [][]float64 {
	r := newRand("piano")
	out := [][]float64{make([]float64, samples(lengthS)), make([]float64, samples(lengthS))}
	for _, n := range humanise(pianoNotes(), r, 0.006) {
		x := pianoNote(n.pitch, n.strength, n.beats*beatS, r)
		pan := math.Min(1, math.Max(0, (n.pitch-36)/48))
		at := seconds(n.beat)
		mixInto(out[0], x, samples(at+0.0004*pan), math.Cos(math.Pi/2*(0.2+0.6*pan)))
		mixInto(out[1], x, samples(at+0.0004*(1-pan)), math.Sin(math.Pi/2*(0.2+0.6*pan)))
	}
	for i, side := range []string{"piano left", "piano right"} {
		board := woodenBody(side, 130, 260, 4096)
		out[i] = convolve(out[i], board)
		through(out[i], highPass(45, 0.7), highShelf(1200, 4))
	}
	compress(-12, 2.5, 0.01, 0.2, out...)
	return out
}

// drawbars of the organ: the footages 16', 5 1/3', 8', 4', 2 2/3', 2', 1 3/5', 1 1/3', 1' as multiples of the key's
// pitch, and how far each is drawn, 0..8 in steps of 3 dB.
var drawbars = []struct{ ratio, drawn float64 }{
	{0.5, 6}, {1.5, 5}, {1, 8}, {2, 7}, {3, 4}, {4, 6}, {5, 0}, {6, 0}, {8, 4},
}

// organ holds chords through a slowly turning loudspeaker.
func organ() [][]float64 {
	r := newRand("organ")
	x := make([]float64, samples(lengthS))
	for _, c := range harmony {
		if c.beat < 4 {
			continue
		}
		for i, p := range c.voicing(70, 3) {
			n := samples((c.beats-0.08)*beatS) + 480
			tone := make([]float64, n)
			var wheels []mode
			for _, d := range drawbars {
				if d.drawn > 0 {
					hz := noteHz(p) * d.ratio * (1 + 0.0004*r.NormFloat64()) // gears do not quite reach equal temperament
					wheels = append(wheels, mode{hz, 1e6, 0.08 * decibels(3*(d.drawn-8)), between(r, 0, 6.28)})
				}
			}
			ring(tone, wheels)
			fade(tone, 60, 300) // contacts close at once: the key click
			mixInto(x, tone, samples(seconds(c.beat)+0.006*float64(i)+0.004*r.NormFloat64()), 1)
		}
	}
	scale(x, 0.8/peakOf(x))
	softClip(x, 1.6, 0.15)
	through(x, highPass(50, 0.7))
	return rotate(x)
}

// rotate is a loudspeaker cabinet with a horn and a drum that turn slowly in front of two microphones: level, pitch
// (by distance) and brightness go round.
func rotate(x []float64) [][]float64 {
	low, high := append([]float64(nil), x...), append([]float64(nil), x...)
	through(low, lowPass(800, 0.7), lowPass(800, 0.7))
	through(high, highPass(800, 0.7), highPass(800, 0.7), lowPass(6500, 0.7))
	out := [][]float64{make([]float64, len(x)), make([]float64, len(x))}
	for side := range out {
		turned := float64(side) * 0.6 * math.Pi
		for i := range x {
			t := float64(i) / rate
			horn := math.Sin(2*math.Pi*0.83*t + turned)
			drum := math.Sin(-2*math.Pi*0.67*t + turned)
			d := 40 + 0.18/soundMetresPerS*rate*(1+horn)
			k := int(d)
			f := d - float64(k)
			if i > k {
				out[side][i] = low[i-40]*(1+0.18*drum) + ((1-f)*high[i-k]+f*high[i-k-1])*(0.9-0.38*horn)
			}
		}
	}
	return out
}

// pad is a synthesiser: detuned ramps through a filter that opens slowly.
func pad() [][]float64 {
	table := saw()
	r := newRand("pad")
	out := [][]float64{make([]float64, samples(lengthS)), make([]float64, samples(lengthS))}
	for _, c := range harmony {
		if c.beat < verse {
			continue
		}
		n := samples(c.beats*beatS + 0.5)
		for _, p := range c.voicing(67, 4) {
			for _, cents := range []float64{-9, -3, 4, 10} {
				hz := noteHz(p + cents/100)
				t := table.forPitch(hz)
				x := make([]float64, n)
				phase := r.Float64()
				for i := range x {
					phase += hz / rate
					phase -= math.Floor(phase)
					x[i] = read(t, phase)
				}
				fade(x, samples(0.35), samples(0.5))
				pan := 0.5 + cents/24
				at := samples(seconds(c.beat))
				mixInto(out[0], x, at, 0.1*math.Sqrt(1-pan))
				mixInto(out[1], x, at, 0.1*math.Sqrt(pan))
			}
		}
	}
	for i := range out {
		sweep(out[i], i)
	}
	return out
}

// sweep is a low-pass filter whose cut-off wanders.
func sweep(x []float64, side int) {
	var f1, f2 resonance
	for i, v := range x {
		if i%64 == 0 {
			t := float64(i) / rate
			hz := 900 + 500*math.Sin(2*math.Pi*0.11*t+float64(side))
			f1.tune(hz, 1.1*hz)
			f2.tune(1.6*hz, 1.6*hz)
		}
		x[i] = f2.step(f1.step(v))
	}
	through(x, highPass(120, 0.7))
}
