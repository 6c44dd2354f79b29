package dynamics

import "math"

// cell holds the sums over one stretch of one channel.
type cell struct {
	sum, square, abs float64
	high, low        float32 // extreme samples; 0 if no sample is on that side
}

// measure reads x once. Two sets of sums run side by side, because one addition has to wait for the one before.
func measure(x []float32) cell {
	var s0, s1, q0, q1, a0, a1 float64
	var high, low float32
	for len(x) >= 2 {
		u, v := x[0], x[1]
		x = x[2:]
		if u > high {
			high = u
		}
		if u < low {
			low = u
		}
		if v > high {
			high = v
		}
		if v < low {
			low = v
		}
		d, e := float64(u), float64(v)
		s0 += d
		s1 += e
		q0 += d * d
		q1 += e * e
		a0 += math.Abs(d)
		a1 += math.Abs(e)
	}
	if len(x) > 0 {
		d := float64(x[0])
		s0 += d
		q0 += d * d
		a0 += math.Abs(d)
		high, low = max(high, x[0]), min(low, x[0])
	}
	return cell{sum: s0 + s1, square: q0 + q1, abs: a0 + a1, high: high, low: low}
}
