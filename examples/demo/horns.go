package demo

import (
	"math"
	"math/rand/v2"
)

// wind describes a wind instrument: a source whose high harmonics come with loudness, shaped by the bore and bell.
type wind struct {
	name      string
	softHz    float64 // where the spectrum ends when played softly
	loudHz    float64 // added at full strength
	slope     float64 // harmonic k has k^-slope below there
	formants  [][3]float64
	bellHz    float64 // below it the bell reflects rather than radiates
	attackS   float64
	scoopSemi float64
	vibratoHz float64
	vibrato   float64 // semitones
	breath    float64
	looseS    float64
	slide     bool // glides from note to note
}

var (
	trumpet   = wind{name: "trumpet", softHz: 900, loudHz: 2600, slope: 0.25, formants: [][3]float64{{1250, 7, 1}, {2600, 3, 1.5}}, bellHz: 900, attackS: 0.028, scoopSemi: 0.35, vibratoHz: 5.2, vibrato: 0.12, breath: 0.5, looseS: 0.008}
	saxophone = wind{name: "saxophone", softHz: 900, loudHz: 2200, slope: 0.3, formants: [][3]float64{{900, 5, 1}, {1600, 5, 1.3}, {3000, 5, 1.6}}, bellHz: 500, attackS: 0.022, scoopSemi: 0.8, vibratoHz: 4.9, vibrato: 0.15, breath: 2.2, looseS: 0.010}
	trombone  = wind{name: "trombone", softHz: 500, loudHz: 1700, slope: 0.2, formants: [][3]float64{{520, 6, 1}, {1500, 2, 1}}, bellHz: 400, attackS: 0.04, scoopSemi: 0.4, vibratoHz: 4.6, vibrato: 0.1, breath: 0.5, looseS: 0.012, slide: true}
)

// hornSection is the arrangement: stabs in the introduction, answers in the verse, a riff in the chorus.
// top is the trumpet's note.
var hornSection = []note{
	{0, 0.4, 74, 0.9}, {0.75, 0.2, 74, 0.7}, {2.5, 0.4, 79, 0.8}, {3, 0.9, 78, 0.9}, {4, 0.4, 78, 0.9}, {4.75, 0.2, 78, 0.7}, {6.5, 1.3, 74, 0.9},
	{15, 0.4, 76, 0.7}, {15.5, 0.4, 79, 0.75}, {22.5, 0.3, 74, 0.8}, {23, 0.9, 78, 1},
	{24, 1.4, 76, 0.95}, {25.5, 0.35, 79, 0.8}, {26, 0.4, 78, 0.9}, {27, 0.9, 74, 0.8}, {28, 0.4, 79, 0.95}, {28.75, 0.2, 79, 0.7}, {30, 1.8, 76, 0.8},
	{32, 1.4, 76, 0.95}, {33.5, 0.35, 79, 0.8}, {34, 0.4, 78, 0.9}, {35, 0.9, 74, 0.8}, {36, 0.4, 79, 0.95}, {36.75, 0.2, 79, 0.7}, {38, 1.8, 79, 1},
	{40, 3.2, 79, 1},
}

// sectionPart is the arrangement for the player who sits below chord tones under the top.
func sectionPart(below int) []note {
	var part []note
	for _, n := range hornSection {
		c := chordAt(n.beat)
		for range below {
			n.pitch = c.toneBelow(n.pitch, 2)
		}
		part = append(part, n)
	}
	return part
}

// horn plays one part of the section.
func horn(w wind, below int) []float64 {
	r := newRand("horn " + w.name)
	out := make([]float64, samples(lengthS))
	lastPitch, lastEnd := 0.0, -9.0
	for _, n := range humanise(sectionPart(below), r, w.looseS) {
		from := n.pitch
		if w.slide && n.beat-lastEnd < 0.3 {
			from = lastPitch
		}
		w.blow(out, n, from, r)
		lastPitch, lastEnd = n.pitch, n.beat+n.beats
	}
	through(out, highPass(100, 0.7))
	wet := convolve(out, space(w.name+" room", 0.006, 0.35, 5000))
	mixInto(out, wet, 0, 0.12)
	return out
}

// blow adds one note. All harmonics start in phase, as the steepened wave in a brass bore does; their levels follow
// the breath sixty-four samples at a time.
func (w wind) blow(out []float64, n note, from float64, r *rand.Rand) {
	length := samples(n.beats * beatS)
	tail := samples(0.07)
	at := samples(seconds(n.beat))
	const harmonics = 48
	var now, next, step [harmonics]float64
	detune := 0.03 * r.NormFloat64()
	flutter, phase := 0.0, 0.0
	air := noise(r, length+tail)
	through(air, bandPass(1.6*w.formants[0][0], 0.5))
	for i := 0; i < length+tail; i++ {
		if i%hop == 0 {
			t := float64(i) / rate
			flutter = 0.9*flutter + 0.02*r.NormFloat64()
			e := n.strength * (1 - math.Exp(-t/w.attackS)) * (1 + 0.25*math.Exp(-t/0.06) - 0.12*math.Min(1, t/1.5))
			if i > length {
				e *= math.Exp(-float64(i-length) / rate / 0.018)
			}
			pitch := n.pitch + detune + 0.2*flutter - w.scoopSemi*math.Exp(-t/0.035) + (from-n.pitch)*math.Exp(-t/0.03) +
				w.vibrato*math.Min(1, math.Max(0, (t-0.3)/0.4))*math.Sin(2*math.Pi*w.vibratoHz*t)
			hz := noteHz(pitch)
			w.spectrum(next[:], hz, e*(1+0.3*flutter))
			for k := range step {
				step[k] = (next[k] - now[k]) / hop
			}
			phase = math.Mod(phase, 1)
			from0 := hz / rate
			w.render(out, at+i, min(hop, length+tail-i), &now, &step, &phase, from0, air[i:], 0.012*w.breath*e)
			now = next
		}
	}
}

// spectrum fills the levels of the harmonics of hz for a breath e of 0..1.
func (w wind) spectrum(level []float64, hz, e float64) {
	e = math.Max(0, e)
	top := w.softHz + w.loudHz*e*e
	for k := range level {
		f := hz * float64(k+1)
		if f > 0.45*rate {
			level[k] = 0
			continue
		}
		l := e * math.Pow(float64(k+1), -w.slope) * math.Exp(-math.Max(0, f-hz)/top)
		l *= 1 / math.Sqrt(1+math.Pow(w.bellHz/f, 2))
		for _, p := range w.formants {
			x := math.Log2(f/p[0]) * p[2] * 1.5
			l *= decibels(p[1] * math.Exp(-x*x))
		}
		level[k] = 0.2 * l
	}
}

func (w wind) render(out []float64, at, n int, level, step *[48]float64, phase *float64, inc float64, air []float64, breath float64) {
	top := 0
	for k := range level {
		if level[k] > 1e-6 || step[k] != 0 {
			top = k + 1
		}
	}
	for i := range n {
		*phase += inc
		sin, cos := math.Sincos(2 * math.Pi * *phase)
		y, a, b := 0.0, 0.0, sin
		f := float64(i)
		for k := range top { // sin(k+1)x = 2 cos x sin kx - sin(k-1)x
			y += (level[k] + f*step[k]) * b
			a, b = b, 2*cos*b-a
		}
		if at+i >= 0 && at+i < len(out) {
			out[at+i] += y + breath*air[i]
		}
	}
}
