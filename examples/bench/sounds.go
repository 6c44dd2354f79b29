package main

import "math"

// sound gives the next sample of an instrument, about -1..1.
type sound func() float64

// noise is a fast source of numbers -1..1, evenly spread: xorshift64* (Vigna 2016).
type noise uint64

func newNoise(seed int) *noise {
	n := noise(seed)*0x9E3779B97F4A7C15 + 1
	return &n
}

func (n *noise) next() float64 {
	*n ^= *n >> 12
	*n ^= *n << 25
	*n ^= *n >> 27
	return float64(int64(uint64(*n)*2685821657736338717)) / (1 << 63)
}

// parts are the parts of a song: every 8 seconds another level, and now and then a rest.
type parts struct {
	random     *noise
	left       int
	level, now float64
}

func newParts(seed int) *parts { return &parts{random: newNoise(seed), level: 1, left: 8 * rate} }

func (p *parts) gain() float64 {
	if p.left--; p.left < 0 {
		p.left = 8 * rate
		p.level = 0.7 + 0.3*p.random.next()
		if p.random.next() < -0.7 {
			p.level = 1e-3
		}
	}
	p.now += 0.001 * (p.level - p.now)
	return p.now
}

// oscillator is a sine that is turned step by step.
type oscillator struct{ x, y, c, s float64 }

func newOscillator(hz float64) oscillator {
	s, c := math.Sincos(2 * math.Pi * hz / rate)
	return oscillator{x: 1, c: c, s: s}
}

func (o *oscillator) next() float64 {
	o.x, o.y = o.x*o.c-o.y*o.s, o.x*o.s+o.y*o.c
	return o.y
}

const beat = rate * 60 / 112 // samples a beat at 112 beats a minute

// scale is a pentatonic scale from A.
var scale = []float64{1, 1.122, 1.26, 1.498, 1.682}

func pick(n *noise, hz float64) float64 {
	return hz * scale[int(2.49*(1+n.next()))]
}

// newKick is a sine that falls from 140 to 48 Hz under a click, on every beat, a few off it.
func newKick(seed int) sound {
	random := newNoise(seed)
	left, level := 0, 0.0
	var phase, hz, body, click float64
	return func() float64 {
		if left--; left < 0 {
			left = beat
			if random.next() > 0.5 {
				left = beat / 2
			}
			level, phase, hz, body, click = 0.8+0.2*random.next(), 0, 140, 1, 0.25
		}
		hz += (48 - hz) * 0.0007
		body *= 1 - 1/(0.12*rate)
		click *= 1 - 1/(0.003*rate)
		phase += 2 * math.Pi * hz / rate
		return level * (body*math.Sin(phase) + click*random.next())
	}
}

// newBass plays notes of ten harmonics, each softer and shorter than the one below.
func newBass(seed int) sound {
	random := newNoise(seed)
	left, level := 0, 0.0
	var partials [10]oscillator
	var decay [10]float64
	return func() float64 {
		if left--; left < 0 {
			left = beat
			level = 0
			hz := pick(random, 44)
			for h := range partials {
				partials[h] = newOscillator(hz * float64(h+1))
				partials[h].x /= float64(h+1) * 1.5
				decay[h] = 1 - (1+0.3*float64(h))/(0.7*rate)
			}
		}
		level += 0.004 * (1 - level)
		sum := 0.0
		for h := range partials {
			partials[h].x *= decay[h]
			partials[h].y *= decay[h]
			sum += partials[h].next()
		}
		return level * sum
	}
}

// newGuitar is three plucked strings, each a loop of noise that an averaging of neighbours wears down (Karplus and
// Strong 1983), into a soft limiter.
func newGuitar(seed int) sound {
	random := newNoise(seed)
	var strings [3][]float64
	var at [3]int
	var last [3]float64
	left := 0
	return func() float64 {
		if left--; left < 0 {
			left = beat / 2
			for s := range strings {
				if s > 0 && random.next() < 0 {
					continue
				}
				strings[s] = make([]float64, int(rate/pick(random, 110*float64(s+1))))
				at[s] = 0
				for i := range strings[s] {
					strings[s][i] = random.next()
				}
			}
		}
		sum := 0.0
		for s, loop := range strings {
			if len(loop) == 0 {
				continue
			}
			x := loop[at[s]]
			loop[at[s]] = 0.4985 * (x + last[s])
			last[s] = x
			sum += x
			if at[s]++; at[s] == len(loop) {
				at[s] = 0
			}
		}
		return sum / (1 + math.Abs(sum))
	}
}

// newVoice is a train of pulses with vibrato through three resonances that move from vowel to vowel, and breath.
func newVoice(seed int) sound {
	random := newNoise(seed)
	vowels := [][3]float64{{730, 1090, 2440}, {270, 2290, 3010}, {300, 870, 2240}, {530, 1840, 2480}} // Peterson and Barney 1952
	var tubes [3]resonance
	vibrato := newOscillator(5.3)
	left, hz, phase, level, aim := 0, 220.0, 0.0, 0.0, 1.0
	goal := vowels[0]
	return func() float64 {
		if left--; left < 0 {
			left = beat + beat/2
			hz = pick(random, 196)
			goal = vowels[int(1.99*(1+random.next()))]
			aim = 1
			if random.next() < -0.8 {
				aim = 0
			}
		}
		level += 0.0005 * (aim - level)
		phase += hz * (1 + 0.02*vibrato.next()) / rate
		pulse := 0.003 * random.next()
		if phase >= 1 {
			phase--
			pulse += 1
		}
		if left&31 == 0 {
			for i := range tubes {
				tubes[i].tune(goal[i])
			}
		}
		sum := 0.0
		for i := range tubes {
			sum += tubes[i].next(pulse) / float64(i+1)
		}
		return 0.5 * level * sum
	}
}

// resonance is a two-pole filter whose frequency glides.
type resonance struct{ hz, a, b, gain, y1, y2 float64 }

func (r *resonance) tune(hz float64) {
	if r.hz == 0 {
		r.hz = hz
	}
	r.hz += 0.02 * (hz - r.hz)
	radius := math.Exp(-math.Pi * 90 / rate)
	r.a, r.b = 2*radius*math.Cos(2*math.Pi*r.hz/rate), radius*radius
	r.gain = math.Sin(2 * math.Pi * r.hz / rate)
}

func (r *resonance) next(x float64) float64 {
	r.y1, r.y2 = r.gain*x+r.a*r.y1-r.b*r.y2, r.y1
	return r.y1
}
