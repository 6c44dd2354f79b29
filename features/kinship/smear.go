package kinship

import "slices"

// decays are the reverberation times tried for a tail, in seconds; 0 is none.
var decays = [...]float64{0, 0.4, 0.8, 1.5, 3}

// follows tells how well the envelope of track to runs along with that of from once from is given an exponential
// tail: the best over the reverberation times of the lower quartile over the bands of the correlation of the levels
// in dB, and that time; a tail falls 60 dB in that time, which in codes is a straight line. Track to is taken to be late by lag. It says nothing on its own, as everything in a song is played to one grid.
func (m *matching) follows(from, to *Sketch, lag float64) (fit, decaySeconds float64) {
	late := *from
	late.StartSeconds += lag
	x, y, hop := overlap(&late, to)
	n := len(x) / bands
	if n < 8 {
		return 0, 0
	}
	topX, topY := peakCodes(x), peakCodes(y)
	use := heard(&topX, &topY)
	if len(use) == 0 {
		return 0, 0
	}
	for _, k := range use {
		m.y[k].take(y, k, topY[k], 0)
	}
	rs := make([]float64, len(use))
	for _, t60 := range decays {
		fall := 0.0
		if t60 > 0 {
			fall = 60 * hop / t60 * codesPerDB
		}
		for i, k := range use {
			m.x[k].take(x, k, topX[k], fall)
			rs[i] = m.x[k].correlation(&m.y[k])
		}
		slices.Sort(rs)
		if r := rs[len(rs)/4]; r > fit {
			fit, decaySeconds = r, t60
		}
	}
	return fit, decaySeconds
}
