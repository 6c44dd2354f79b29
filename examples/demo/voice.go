package demo

import (
	"math"
	"math/rand/v2"
)

// singer is a throat and its habits.
type singer struct {
	name          string
	woman         bool
	tract         float64 // formants relative to the average
	openQuotient  float64 // 0.4 pressed .. 0.8 breathy
	breath        float64 // air in the tone, relative
	vibratoHz     float64
	vibratoCents  float64
	scoopSemi     float64 // how far below a note it starts
	looseS        float64 // scatter of timing
	looseCents    float64 // scatter of pitch
	brightnessHz  float64 // of the source at full strength
	low, high     float64 // reach, MIDI notes
	backingVowel  string
	backingBelow  int
	backingFromBt float64
}

// control is the state of the throat every hop samples.
type control struct {
	pitch, voice, air float64
	formant           [3]float64
}

const hop = 64

// sing performs a part.
func (s singer) sing(part []sung, breaths bool) []float64 {
	r := newRand("singer " + s.name)
	n := samples(lengthS)
	hiss := make([]float64, n)
	ctl := s.articulate(part, hiss, breaths, r)
	out := s.phonate(ctl, n, r)
	mixInto(out, hiss, 0, 1)
	return out
}

// articulate turns notes and syllables into control frames, and adds hisses, bursts and breaths to hiss.
func (s singer) articulate(part []sung, hiss []float64, breaths bool, r *rand.Rand) []control {
	frames := make([]control, len(hiss)/hop+2)
	at := func(t float64) int { return min(max(0, int(t*rate/hop)), len(frames)-1) }
	sex := 0
	if s.woman {
		sex = 1
	}
	drift, lastEnd, lastPitch := 0.0, -9.0, 0.0
	for i := range frames {
		frames[i].formant = vowels["V"][sex]
	}
	for k, m := range part {
		syl := parseSyllable(m.text)
		begin := seconds(m.beat) + s.looseS*r.NormFloat64()
		end := seconds(m.beat+m.beats) + 0.5*s.looseS*r.NormFloat64()
		legato := k+1 < len(part) && part[k+1].beat-m.beat-m.beats < 0.1
		if breaths && begin-lastEnd > 0.5 {
			breathe(hiss, begin-0.34, 0.26, 0.014*s.breath+0.006, r)
		}
		onset := 0.0
		for _, c := range syl.onset {
			onset += c.seconds
		}
		detune := s.looseCents / 100 * r.NormFloat64()
		phase := between(r, 0, 2*math.Pi)
		rateHz := s.vibratoHz * between(r, 0.95, 1.05)
		strength := m.strength * (1 + 0.05*r.NormFloat64())
		for i := at(begin - onset); i <= at(end); i++ {
			t := float64(i)*hop/rate - begin
			f := &frames[i]
			drift = 0.995*drift + 0.006*r.NormFloat64()
			f.pitch = m.pitch + detune + drift - s.scoopSemi*math.Exp(-math.Max(0, t)/0.06) +
				s.vibratoCents/100*math.Min(1, math.Max(0, (t-0.22)/0.35))*math.Sin(2*math.Pi*rateHz*t+phase)
			if begin-lastEnd < 0.12 && lastPitch > 0 {
				f.pitch += (lastPitch - m.pitch + s.scoopSemi) * math.Exp(-math.Max(0, t+0.02)/0.035)
			}
			if t < 0 {
				continue
			}
			left := float64(at(end)-i) * hop / rate
			rise := 0.045
			if len(syl.onset) > 0 {
				rise = 0.02
			}
			env := math.Min(1, t/rise) * (1 - 0.2*math.Exp(-t/0.12)) * (1 - 0.12*math.Min(1, t/2))
			if !legato || len(syl.coda) > 0 {
				env *= math.Min(1, left/0.09)
			} else {
				env *= 0.55 + 0.45*math.Min(1, left/0.04)
			}
			f.voice = strength * env
			f.air = f.voice
			glide := math.Min(1, math.Max(0, (t/(end-begin)-0.45)/0.4))
			for j := range f.formant {
				f.formant[j] = s.tract * (syl.from[sex][j]*(1-glide) + syl.to[sex][j]*glide)
			}
		}
		t := begin - onset
		for _, c := range syl.onset {
			s.speak(c, frames[at(t):at(t+c.seconds)+1], hiss, t, strength, r)
			t += c.seconds
		}
		t = end - 0.03
		for _, c := range syl.coda {
			if c.voice > 0 && t+c.seconds < seconds(last) {
				for i := at(t); i <= at(t+c.seconds); i++ {
					frames[i].pitch = m.pitch + detune
				}
			}
			s.speak(c, frames[at(t):at(t+c.seconds)+1], hiss, t, 0.7*strength, r)
			t += c.seconds
		}
		lastEnd, lastPitch = end, m.pitch
	}
	return smooth(frames)
}

// speak lets a consonant act on the frames it lasts and adds its noise.
func (s singer) speak(c consonant, frames []control, hiss []float64, t, strength float64, r *rand.Rand) {
	for i := range frames {
		f := &frames[i]
		f.voice = c.voice * strength
		f.air = 0.3 * f.voice
		if c.formants[0] > 0 {
			for j := range f.formant {
				f.formant[j] = s.tract * c.formants[j]
			}
		}
	}
	if c.noise == 0 {
		return
	}
	length := c.seconds + 0.02
	if c.burst {
		length = 0.035
		t += c.seconds - 0.03
	}
	x := noise(r, samples(length))
	q := c.q
	through(x, bandPass(math.Min(11000, c.noiseHz*s.tract*between(r, 0.95, 1.05)), q), highPass(0.5*c.noiseHz, 0.7))
	if c.burst {
		fade(x, 40, len(x)*4/5)
	} else {
		fade(x, len(x)/3, len(x)/3)
	}
	mixInto(hiss, x, samples(t), 0.9*c.noise*strength)
}

// breathe is an intake of air.
func breathe(out []float64, t, length, level float64, r *rand.Rand) {
	x := noise(r, samples(length))
	through(x, bandPass(1800, 0.6), bell(4200, 4, 1.5))
	fade(x, len(x)*2/3, len(x)/4)
	mixInto(out, x, samples(t), level)
}

// smooth lets the organs of speech move with their own inertia: about 15 ms for the formants, 4 ms for the level.
func smooth(frames []control) []control {
	held := 60.0
	for _, f := range frames {
		if f.pitch > 0 {
			held = f.pitch
			break
		}
	}
	for pass := range 2 { // forwards and backwards, so that nothing comes late
		last := frames[0]
		for k := range frames {
			i := k
			if pass == 1 {
				i = len(frames) - 1 - k
			}
			f := &frames[i]
			if f.pitch == 0 {
				f.pitch = held
			}
			held = f.pitch
			f.voice += 0.70 * (last.voice - f.voice) * 0.8
			f.air += 0.75 * (last.air - f.air) * 0.8
			for j := range f.formant {
				f.formant[j] += 0.90 * (last.formant[j] - f.formant[j])
			}
			f.pitch += 0.6 * (last.pitch - f.pitch)
			last = *f
		}
	}
	return frames
}
