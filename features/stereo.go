package features

import "math"

// stereoMeter compares the first two channels of a track. Sums run over all samples; the constant part is included.
type stereoMeter struct {
	left, right, difference float64 // sums of l^2, r^2 and (l-r)^2
}

type stereoFigures struct {
	correlation        float64 // sum l r / sqrt(sum l^2 sum r^2); 0 where a channel is silent
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
	r = r[:len(l)]
	var l0, r0, d0, l1, r1, d1 float64 // two sums each, so that additions need not wait for one another
	n := len(l) &^ 1
	for i := 0; i < n; i += 2 {
		a, b := float64(l[i]), float64(r[i])
		c, d := float64(l[i+1]), float64(r[i+1])
		l0 += a * a
		r0 += b * b
		d0 += (a - b) * (a - b)
		l1 += c * c
		r1 += d * d
		d1 += (c - d) * (c - d)
	}
	for i := n; i < len(l); i++ {
		a, b := float64(l[i]), float64(r[i])
		l0 += a * a
		r0 += b * b
		d0 += (a - b) * (a - b)
	}
	m.left += l0 + l1
	m.right += r0 + r1
	m.difference += d0 + d1
}

// figures gives the result. Silence has a correlation of 0, a balance of 0 and no side.
func (m *stereoMeter) figures() stereoFigures {
	f := stereoFigures{sideToMid: DB(math.Inf(-1))}
	if m.left+m.right == 0 {
		return f
	}
	product := (m.left + m.right - m.difference) / 2 // sum of l r
	mid, side := (m.left+m.right+2*product)/4, m.difference/4
	if m.left > 0 && m.right > 0 {
		f.correlation = max(-1, min(1, product/math.Sqrt(m.left*m.right)))
	}
	if side > 0 {
		f.sideToMid = limitedRatio(side, mid)
	}
	f.balance = limitedRatio(m.left, m.right)
	f.dualMono = f.sideToMid < dualMonoDB
	return f
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
