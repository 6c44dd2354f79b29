package features

import (
	"math"

	"foldout/features/dynamics"
	"foldout/features/vec"
)

// stereoMeter compares the first two channels of a track. The constant part is left out, as it is no sound.
// The power of each comes from the meter of dynamics, so that what is left to do is one sum.
type stereoMeter struct {
	difference float64 // sum of (l-r)^2
	samples    int64
}

type stereoFigures struct {
	correlation        float64 // sum l r / sqrt(sum l^2 sum r^2) without the means; 0 where a channel is silent
	sideToMid, balance DB
	dualMono           bool
}

const (
	// dualMonoDB is how far the side must lie below the mid for the channels to count as one signal: well above what
	// separate dither of two 16-bit channels leaves under a quiet track, far below any audible width. Chosen.
	dualMonoDB = -70
	// ratioLimitDB bounds ratios of two channels, of which one may be silent.
	ratioLimitDB = 120
)

// write takes two planes of one length.
func (m *stereoMeter) write(l, r []float32) {
	m.samples += int64(len(l))
	m.difference += vec.SquaredDifference(l, r)
}

// figures gives the result from the rms in decibels and the mean of the two channels. Silence has a correlation of 0, a
// balance of 0 and no side; a constant is silent.
func (m *stereoMeter) figures(l, r dynamics.ChannelLevels) stereoFigures {
	f := stereoFigures{sideToMid: DB(math.Inf(-1))}
	left, right := variance(math.Pow(10, l.RMSDB/10), l.DCOffset), variance(math.Pow(10, r.RMSDB/10), r.DCOffset)
	if left+right == 0 {
		return f
	}
	difference := variance(m.difference/float64(m.samples), l.DCOffset-r.DCOffset)
	product := (left + right - difference) / 2 // mean of l r
	mid, side := (left+right+2*product)/4, difference/4
	if left > 0 && right > 0 {
		f.correlation = max(-1, min(1, product/math.Sqrt(left*right)))
	}
	if side > 0 {
		f.sideToMid = limitedRatio(side, mid)
	}
	f.balance = limitedRatio(left, right)
	f.dualMono = f.sideToMid < dualMonoDB
	return f
}

// variance is a mean square without its mean; what rounding leaves of it is 0.
func variance(square, mean float64) float64 {
	if v := square - mean*mean; v > 1e-9*square {
		return v
	}
	return 0
}

// limitedRatio returns a over b in decibels, between -ratioLimitDB and ratioLimitDB.
func limitedRatio(a, b float64) DB {
	switch {
	case b <= 0:
		return ratioLimitDB
	case a <= 0:
		return -ratioLimitDB
	}
	return DB(max(-ratioLimitDB, min(ratioLimitDB, 10*math.Log10(a/b))))
}
