package demo

import (
	"math"
	"math/rand/v2"
)

// phonate runs the glottal pulse and the breath through the vocal tract: a cascade of resonances, of which the first
// three move with the vowels and the others, by tract length, stay.
func (s singer) phonate(ctl []control, n int, r *rand.Rand) []float64 {
	out := make([]float64, n)
	pulse := glottalPulse(s.openQuotient)
	spacing := 1000.0 * s.tract // between resonances of a tube closed at one end
	if s.woman {
		spacing *= 1.16
	}
	const upper = 6
	var tube [3 + upper]resonance
	for k := range upper {
		hz := spacing * (float64(k) + 3.5)
		tube[3+k].tune(hz, 90+0.035*hz)
	}
	air := highPass(900, 0.7)
	lips := highPass(120, 0.7)
	jitter, phase, tilt := 0.0, 0.0, 0.0
	for k := range ctl[:len(ctl)-1] {
		c, d := ctl[k], ctl[k+1]
		if c.voice < 1e-4 && d.voice < 1e-4 && c.air < 1e-4 {
			for i := range tube { // silence: let nothing linger
				tube[i].y1, tube[i].y2 = 0, 0
			}
			continue
		}
		jitter = 0.9*jitter + 0.02*r.NormFloat64()
		hz := noteHz(c.pitch + 0.15*jitter)
		table := pulse.forPitch(hz)
		first := c.formant[0]
		if s.woman { // on high notes the jaw opens until the first resonance meets the fundamental
			first = math.Max(first, 1.02*hz)
		}
		tube[0].tune(first, 55+0.03*first+70*(s.openQuotient-0.4))
		tube[1].tune(c.formant[1], 70+0.02*c.formant[1])
		tube[2].tune(c.formant[2], 100+0.025*c.formant[2])
		cut := math.Exp(-2 * math.Pi * s.brightnessHz * (0.25 + 0.75*c.voice) / rate)
		step := hz / rate
		for i := range hop {
			at := k*hop + i
			if at >= n {
				break
			}
			f := float64(i) / hop
			phase += step
			phase -= math.Floor(phase)
			v := read(table, phase) * (c.voice + f*(d.voice-c.voice))
			tilt = cut*tilt + (1-cut)*v
			open := 0.35
			if phase < s.openQuotient {
				open = 1
			}
			y := tilt + air.step(r.NormFloat64())*0.2*s.breath*open*(c.air+f*(d.air-c.air))
			for j := range tube {
				y = tube[j].step(y)
			}
			out[at] = lips.step(y)
		}
	}
	return out
}

// resonance is a two-pole filter with gain 1 at 0 Hz, as Klatt (JASA 67, 1980) uses for formants in cascade.
type resonance struct{ a, b, c, y1, y2 float64 }

func (r *resonance) tune(hz, widthHz float64) {
	if hz > 0.45*rate {
		hz = 0.45 * rate
	}
	radius := math.Exp(-math.Pi * widthHz / rate)
	r.c = -radius * radius
	r.b = 2 * radius * math.Cos(2*math.Pi*hz/rate)
	r.a = 1 - r.b - r.c
}

func (r *resonance) step(x float64) float64 {
	y := r.a*x + r.b*r.y1 + r.c*r.y2
	r.y1, r.y2 = y, r.y1
	return y
}

// vocalChannel is what an engineer does to a voice on the way in: a low cut, some presence, a compressor.
func vocalChannel(x []float64, presenceDB float64) []float64 {
	through(x, highPass(90, 0.7), bell(280, -3, 1), bell(2900, presenceDB, 0.7), highShelf(6500, 8))
	compress(-16, 3, 0.004, 0.12, x)
	return x
}

// The singers.
var (
	leadSinger = singer{name: "lead", woman: true, tract: 1.0, openQuotient: 0.56, breath: 1, vibratoHz: 5.6, vibratoCents: 38,
		scoopSemi: 0.6, looseS: 0.010, looseCents: 4, brightnessHz: 7500}
	choir = []singer{
		{name: "high 1", woman: true, tract: 1.05, openQuotient: 0.62, breath: 1.3, vibratoHz: 5.3, vibratoCents: 12, scoopSemi: 0.3, looseS: 0.016, looseCents: 6, brightnessHz: 5000, low: 60, high: 76, backingVowel: "u", backingBelow: 1, backingFromBt: 16},
		{name: "high 2", woman: true, tract: 0.97, openQuotient: 0.7, breath: 1.8, vibratoHz: 5.9, vibratoCents: 18, scoopSemi: 0.4, looseS: 0.018, looseCents: 7, brightnessHz: 4200, low: 60, high: 76, backingVowel: "u", backingBelow: 1, backingFromBt: 16},
		{name: "middle 1", woman: true, tract: 0.93, openQuotient: 0.6, breath: 1.1, vibratoHz: 5.1, vibratoCents: 14, scoopSemi: 0.3, looseS: 0.016, looseCents: 6, brightnessHz: 4800, low: 55, high: 72, backingVowel: "u", backingBelow: 2, backingFromBt: 16},
		{name: "middle 2", tract: 1.07, openQuotient: 0.6, breath: 1.2, vibratoHz: 5.4, vibratoCents: 15, scoopSemi: 0.4, looseS: 0.018, looseCents: 7, brightnessHz: 4600, low: 53, high: 69, backingVowel: "o", backingBelow: 2, backingFromBt: 8},
		{name: "low 1", tract: 1.0, openQuotient: 0.55, breath: 1, vibratoHz: 4.9, vibratoCents: 16, scoopSemi: 0.3, looseS: 0.016, looseCents: 6, brightnessHz: 4600, low: 47, high: 62, backingVowel: "o", backingBelow: 3, backingFromBt: 8},
		{name: "low 2", tract: 0.92, openQuotient: 0.5, breath: 0.8, vibratoHz: 5.2, vibratoCents: 12, scoopSemi: 0.2, looseS: 0.018, looseCents: 7, brightnessHz: 4200, low: 43, high: 58, backingVowel: "o", backingBelow: 3, backingFromBt: 8},
	}
)

func leadVocal() []float64 { return vocalChannel(leadSinger.sing(melody, true), 6) }

func backingVocal(s singer) []float64 {
	return vocalChannel(s.sing(harmonyPart(s.backingBelow, s.backingVowel, s.backingFromBt, s.low, s.high), false), 5)
}

// vocalPlate is the return of a plate reverberation fed by all voices.
func vocalPlate(lead []float64, backing [][]float64) [][]float64 {
	send := make([]float64, len(lead))
	mixInto(send, lead, 0, 0.8/peakOf(lead))
	for _, b := range backing {
		mixInto(send, b, 0, 0.3/peakOf(b))
	}
	through(send, highPass(220, 0.7))
	var out [][]float64
	for _, side := range []string{"plate left", "plate right"} {
		out = append(out, convolve(send, steelPlate(side)))
	}
	return out
}

// steelPlate is the response of a damped sheet of steel: dense from the start, long in the middle, shorter above;
// bending waves of high frequency travel faster, so brightness arrives first.
func steelPlate(name string) []float64 {
	r := newRand(name)
	n := samples(1.9)
	out := make([]float64, n)
	for _, band := range []struct{ hz, decayS, lateS, level float64 }{
		{400, 1.7, 0.016, 0.8}, {800, 1.9, 0.011, 0.9}, {1600, 1.7, 0.008, 1}, {3200, 1.3, 0.006, 0.9}, {6400, 0.8, 0.004, 0.6}, {11000, 0.45, 0.003, 0.3},
	} {
		x := noise(r, n)
		through(x, bandPass(band.hz, 1.2))
		from := samples(band.lateS)
		for i := range x {
			if i < from {
				x[i] = 0
				continue
			}
			x[i] *= band.level * math.Pow(1e-3, float64(i-from)/rate/band.decayS)
		}
		mixInto(out, x, 0, 0.01)
	}
	fade(out, 0, n/6)
	return out
}
