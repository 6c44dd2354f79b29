package dynamics

import "math"

// cell holds the sums over one stretch of one channel.
type cell struct {
	sum, square, abs float64
	high, low        float32 // extreme samples; 0 if no sample is on that side
}

const signBit = 1 << 31

// measure reads x once. Four samples a turn, two sets of sums side by side, because an addition has to wait for the one
// before; the extremes are found on the bits, which for each sign sort as the numbers do.
func measure(x []float32) cell {
	var s0, s1, q0, q1, a0, a1 float64
	var high int32
	low := uint32(signBit)
	for ; len(x) >= 4; x = x[4:] {
		b0, b1, b2, b3 := math.Float32bits(x[0]), math.Float32bits(x[1]), math.Float32bits(x[2]), math.Float32bits(x[3])
		d0, d1, d2, d3 := float64(x[0]), float64(x[1]), float64(x[2]), float64(x[3])
		high = max(high, max(max(int32(b0), int32(b1)), max(int32(b2), int32(b3))))
		low = max(low, max(max(b0, b1), max(b2, b3)))
		s0 += d0 + d2
		s1 += d1 + d3
		q0 += d0*d0 + d2*d2
		q1 += d1*d1 + d3*d3
		a0 += float64(math.Float32frombits(b0&^signBit)) + float64(math.Float32frombits(b2&^signBit))
		a1 += float64(math.Float32frombits(b1&^signBit)) + float64(math.Float32frombits(b3&^signBit))
	}
	for _, v := range x {
		b, d := math.Float32bits(v), float64(v)
		high, low = max(high, int32(b)), max(low, b)
		s0 += d
		q0 += d * d
		a0 += math.Abs(d)
	}
	return cell{sum: s0 + s1, square: q0 + q1, abs: a0 + a1, high: math.Float32frombits(uint32(high)), low: math.Float32frombits(low)}
}
