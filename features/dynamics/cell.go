package dynamics

import "math"

// cell holds the sums over one stretch of one channel.
type cell struct {
	sum, square, abs float64
	peak             float32 // largest magnitude
}

const signBit = 1 << 31

// measure reads x once. Four samples a turn, two sets of sums side by side, because an addition has to wait for the one
// before; the peak is found on the bits, which without their sign sort as the numbers do. What is subtracted later, sum
// and square, is summed in float64; the magnitudes, a few dozen, need no more than their own precision.
func measure(x []float32) cell {
	var s0, s1, q0, q1 float64
	var a0, a1 float32
	var peak uint32
	rest := x
	for ; len(rest) >= 4; rest = rest[4:] {
		v := (*[4]float32)(rest)
		b0, b1 := math.Float32bits(v[0])&^signBit, math.Float32bits(v[1])&^signBit
		b2, b3 := math.Float32bits(v[2])&^signBit, math.Float32bits(v[3])&^signBit
		d0, d1, d2, d3 := float64(v[0]), float64(v[1]), float64(v[2]), float64(v[3])
		peak = max(peak, max(max(b0, b1), max(b2, b3)))
		s0 += d0 + d2
		s1 += d1 + d3
		q0 += d0*d0 + d2*d2
		q1 += d1*d1 + d3*d3
		a0 += math.Float32frombits(b0) + math.Float32frombits(b2)
		a1 += math.Float32frombits(b1) + math.Float32frombits(b3)
	}
	for _, v := range rest {
		b, d := math.Float32bits(v)&^signBit, float64(v)
		peak = max(peak, b)
		s0 += d
		q0 += d * d
		a0 += math.Float32frombits(b)
	}
	c := cell{sum: s0 + s1, square: q0 + q1, abs: float64(a0 + a1), peak: math.Float32frombits(peak)}
	if c.abs > math.MaxFloat32 { // too large for float32
		c.abs = 0
		for _, v := range x {
			c.abs += math.Abs(float64(v))
		}
	}
	return c
}

// extremes returns the highest and the lowest sample of x; 0 if no sample is on that side.
func extremes(x []float32) (high, low float32) {
	for _, v := range x {
		if v > high {
			high = v
		}
		if v < low {
			low = v
		}
	}
	return high, low
}
