package kinship

import (
	"math"
	"slices"
)

// decays are the reverberation times tried for a tail, in seconds; 0 is none.
var decays = [...]float64{0, 0.4, 0.8, 1.5, 3}

// follows tells how well the envelope of track to runs along with that of from once from is given an exponential
// tail: the best over the reverberation times of the lower quartile over the bands of the correlation of the levels
// in dB, and that time. Track to is taken to be late by lag. It says nothing on its own, as everything in a song is played to one grid.
func follows(from, to *Sketch, lag float64) (fit, decaySeconds float64) {
	late := *from
	late.StartSeconds += lag
	x, y := overlap(&late, to)
	n := len(x) / bands
	if n < 8 {
		return 0, 0
	}
	hop := max(from.HopSeconds, to.HopSeconds)
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

// smear gives every band of x an exponential tail that falls 60 dB in t60 seconds.
func smear(dst, x []uint8, hop, t60 float64) {
	if !(t60 > 0) {
		copy(dst, x)
		return
	}
	keep := math.Pow(10, -6*hop/t60)
	var level [bands]float64
	for i, c := range x {
		k := i % bands
		level[k] = max(envelopePower(c), level[k]*keep)
		dst[i] = envelopeCode(level[k])
	}
}
