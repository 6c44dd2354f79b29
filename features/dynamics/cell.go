package dynamics

import (
	"math"

	"foldout/features/vec"
)

// batch is how many cells are measured at a time.
const batch = 128

// measure fills dst with the sums of successive cells of x, each of the given length.
func measure(dst []vec.Cell, x []float32, length int) {
	vec.Cells(dst, x, length)
	for i := range dst {
		if c := &dst[i]; c.Abs > math.MaxFloat32 { // too large for the float32 that magnitudes are added in
			c.Abs = 0
			for _, v := range x[i*length:][:length] {
				c.Abs += math.Abs(float64(v))
			}
		}
	}
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
