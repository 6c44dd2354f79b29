package trace

import (
	"math"

	"foldout/features"
)

const (
	deadDB = 40.0 // an output this far under the loudest is dead: what is left is crosstalk
	bothDB = 15.0 // a side this little under the louder one counts as well
)

// alive says which outputs arrive: their response stands out, and lies within deadDB of the loudest.
func (t *tracer) alive(i int) bool {
	f := t.slots[i]
	if !f.heard || f.stands <= standing {
		return false
	}
	loudest := 0.0
	for _, g := range t.slots {
		if g.heard && g.stands > standing {
			loudest = max(loudest, g.sides[g.main].level)
		}
	}
	return f.sides[f.main].level > loudest*math.Pow(10, -deadDB/10)
}

// channel turns the figures of a slot into those of an output.
func (t *tracer) channel(i int) Channel {
	f, send := t.slots[i], t.plan.Sends[i]
	c := Channel{Output: send.Output, Label: send.Label(), GainDB: none, OffDB: none, DelaySamples: none, THDPercent: none, THDNPercent: none,
		NoiseDBFS: none, NoiseADBFS: none, CrosstalkDB: none, LowHz: none, HighHz: none, Response: []Point{}, Harmonics: []Harmonic{}}
	if !f.heard {
		return c
	}
	alive := t.alive(i)
	if !alive && t.after != nil && t.soundedInSync(i) {
		return c // the break lies in its turn
	}
	c.Alive = &alive
	side := f.main
	if !alive && send.Side == "right" {
		side = min(1, len(f.sides)-1)
	} else if !alive {
		side = 0
	}
	if len(f.silence) > 0 {
		flat, a := f.silence[side].level(t.hum[side])
		c.NoiseDBFS, c.NoiseADBFS = features.DB(tidy(flat, 2)), features.DB(tidy(a, 2))
	}
	if !alive {
		return c
	}
	c.Polarity = "normal"
	if f.invert {
		c.Polarity = "inverted"
	}
	c.Dropouts = len(f.drops)
	c.sides(f)
	c.response(f)
	c.level(f, math.Pow(10, t.plan.ToneDBFS()/20))
	return c
}

// sides says where it arrives and what reaches the other side.
func (c *Channel) sides(f *slotFigures) {
	if len(f.sides) < 2 {
		return
	}
	ratio := decibels(f.sides[1-f.main].level / f.sides[f.main].level)
	c.Side = []string{"left", "right"}[f.main]
	if ratio > -bothDB {
		c.Side = "both"
	}
	c.CrosstalkDB, c.leaks = features.DB(tidy(ratio, 2)), ratio > crosstalkDB+3
	if len(f.tone) == 2 {
		own, other := f.tone[f.main], f.tone[1-f.main]
		c.leaks = other.amplitude-2.5*other.noise > own.amplitude*math.Pow(10, (crosstalkDB+0.5)/20)
		p := other.amplitude * other.amplitude
		if other.noise > 0 { // noise at one frequency adds its power
			p = max(p-other.noise*other.noise, 0.1*other.noise*other.noise)
		}
		c.CrosstalkDB = features.DB(tidy(max(-180, decibels(p/(own.amplitude*own.amplitude))), 2))
	}
}

// response gives the response relative to 1 kHz, its corners and the harmonics.
func (c *Channel) response(f *slotFigures) {
	grid := ResponseHz()
	own := f.sides[f.main]
	base := own.response[nearest(grid, 1000)]
	for i, hz := range grid {
		c.Response = append(c.Response, Point{Hz: tidy(hz, 2), DB: features.DB(tidy(decibels(own.response[i]/base), 3))})
	}
	middle := nearest(grid, 1000)
	c.LowHz, c.HighHz = c.corner(middle, -1), c.corner(middle, 1)
	for n, row := range own.harmonics {
		h := Harmonic{Order: firstHarmonic + n}
		for k, hz := range HarmonicHz() {
			if !math.IsNaN(row[k]) {
				h.Points = append(h.Points, Point{Hz: tidy(hz, 1), DB: features.DB(tidy(row[k], 2))})
			}
		}
		c.Harmonics = append(c.Harmonics, h)
	}
}

// corner is the frequency beyond which the response stays 3 dB down, from the middle towards one end.
func (c *Channel) corner(middle, step int) features.DB {
	end := 0
	if step > 0 {
		end = len(c.Response) - 1
	}
	for i := end; i != middle; i -= step {
		if c.Response[i].DB > -3 {
			if i == end {
				return none
			}
			a, b := c.Response[i], c.Response[i+step]
			share := float64((a.DB + 3) / (a.DB - b.DB))
			return features.DB(tidy(a.Hz*math.Pow(b.Hz/a.Hz, share), 1))
		}
	}
	return none
}

// level takes gain and distortion from the tone, or the gain from the sweep where the tone was not recorded.
func (c *Channel) level(f *slotFigures, amplitude float64) {
	if len(f.tone) == 0 {
		own := f.sides[f.main]
		c.GainDB = features.DB(tidy(decibels(own.response[nearest(ResponseHz(), 1000)]), 3))
		return
	}
	own := f.tone[f.main]
	c.GainDB = features.DB(tidy(20*math.Log10(own.amplitude/amplitude), 3))
	c.THDPercent, c.THDNPercent = features.DB(tidy(100*own.thd, 5)), features.DB(tidy(100*own.thdn, 5))
	c.surePercent = 100 * max(0, own.thd-own.thdNoise)
}

// delays fills in latency and delays against the earliest output.
func (t *tracer) delays(r *Result) {
	earliest := math.Inf(1)
	for i, f := range t.slots {
		if t.alive(i) {
			earliest = min(earliest, f.delay)
		}
	}
	if math.IsInf(earliest, 1) {
		return
	}
	for i, f := range t.slots {
		if t.alive(i) {
			r.Channels[i].DelaySamples = features.DB(tidy(f.delay-earliest, 3))
		}
	}
	start := t.program.First.Span.Start
	r.LatencySamples = features.DB(tidy(t.clock.place(start)+earliest-start*t.rec.rate, 2))
}
