package kinship

import "slices"

// decays are the reverberation times tried for a tail, in seconds; 0 is none.
var decays = [...]float64{0, 0.4, 0.8, 1.5, 3}

// follows tells how well the envelope of track to runs along with that of from once from is given an exponential
// tail: the best over the reverberation times of the lower quartile over the bands of the correlation of the levels
// in dB, and that time. Track to is taken to be late by lag. It says nothing on its own, as everything in a song is played to one grid.
func follows(from, to *Sketch, lag float64) (fit, decaySeconds float64) {
	late := *from
	late.StartSeconds += lag
	x, y, hop := overlap(&late, to)
	n := len(x) / bands
	if n < 8 {
		return 0, 0
	}
	topX, topY := peaks(x), peaks(y)
	loudX, loudY := slices.Max(topX[:]), slices.Max(topY[:])
	var use []int
	for k := range bands {
		if topX[k] > loudX-bandDepth && topY[k] > loudY-bandDepth && topX[k] > 0 && topY[k] > 0 {
			use = append(use, k)
		}
	}
	if len(use) == 0 {
		return 0, 0
	}
	tail := make([]uint8, len(x))
	rs := make([]float64, len(use))
	for _, t60 := range decays {
		smear(tail, x, hop, t60)
		for i, k := range use {
			rs[i] = correlation(tail[k:], y[k:], topX[k]-envelopeDepth, topY[k]-envelopeDepth)
		}
		slices.Sort(rs)
		if r := rs[len(rs)/4]; r > fit {
			fit, decaySeconds = r, t60
		}
	}
	return fit, decaySeconds
}

// smear gives every band of x an exponential tail that falls 60 dB in t60 seconds, which in codes is a straight line.
func smear(dst, x []uint8, hop, t60 float64) {
	if !(t60 > 0) {
		copy(dst, x)
		return
	}
	fall := float32(60 * hop / t60 * codesPerDB)
	var level [bands]float32
	for f := 0; f+bands <= len(x); f += bands {
		for k := range level {
			level[k] = max(float32(x[f+k]), level[k]-fall)
			dst[f+k] = uint8(level[k] + 0.5)
		}
	}
}
