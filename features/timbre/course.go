package timbre

import "math"

const (
	riseDB       = 3.0  // a frame this much above the one before is the beginning of a note
	usualHz      = 22.0 // frames a second at 44.1 kHz: changes are told per 1/22 s, whatever the rate
	riseShapes   = 8    // cepstral coefficients compared between beginnings and the whole
	changeLimit  = 20.0
	partialFloor = 1e-4 // a register 40 dB below the frame says nothing about its fall
)

// course follows how loud and how bright a track is from frame to frame: how levels change (a plucked string falls, a
// bowed one stays), how the beginnings of notes differ from what follows, how fast each register falls between
// beginnings, and how far the highs stay below the upper middle (a loudspeaker ends near 5 kHz).
type course struct {
	scale    float64
	prevDB   float64
	prevReg  [registers]float64
	change   histogram // dB per 1/22 s
	rising   [riseShapes + 1]moments
	falls    [registers]moments
	presence histogram // 4.4-6.5 kHz re 2.2-4.4 kHz, dB
	air      histogram // 6.5-12 kHz re 2.2-4.4 kHz, dB
	edges    [4]int    // first bands of the three stretches, and one past the last
}

func newCourse(frameHz float64, bank *filterbank) course {
	c := course{
		scale:    frameHz / usualHz,
		change:   newHistogram(-changeLimit, changeLimit, 0.5),
		presence: newHistogram(-50, 20, 1),
		air:      newHistogram(-60, 20, 1),
	}
	for i, hz := range []float64{2200, 4400, 6500, 12000} {
		for c.edges[i] < bandCount && bank.centres[c.edges[i]] < hz {
			c.edges[i]++
		}
	}
	return c
}

// add takes one sounding frame; follows is false after a rest.
func (c *course) add(w, total float64, bands *[bandCount]float64, cep *[coefficients]float64, bank *filterbank,
	follows bool) {
	db := 10 * math.Log10(total)
	rise := db - c.prevDB
	if follows {
		c.change.add(w, rise*c.scale)
	}
	if !follows || rise > riseDB {
		for i := range c.rising {
			c.rising[i].add(w, cep[i])
		}
	}
	for r := range c.prevReg {
		var s float64
		for _, v := range bands[bank.reg[r]:bank.reg[r+1]] {
			s += v
		}
		s += total * partialFloor
		if follows && rise < riseDB/3 {
			d := 10 * math.Log10(s/c.prevReg[r])
			c.falls[r].add(math.Sqrt(s), math.Max(-8, math.Min(8, d*c.scale)))
		}
		c.prevReg[r] = s
	}
	c.prevDB = db
	var part [3]float64
	for i := range part {
		for _, v := range bands[c.edges[i]:c.edges[i+1]] {
			part[i] += v
		}
	}
	if part[0] > total*1e-5 {
		floor := total * 1e-9
		c.presence.add(w, 10*math.Log10((part[1]+floor)/part[0]))
		c.air.add(w, 10*math.Log10((part[2]+floor)/part[0]))
	}
}
