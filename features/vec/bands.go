package vec

// Bands is the number of bytes in a frame: levels of bands, in whole steps. Frames lie one after another.
const Bands = 24

// PeakBands returns the highest level of each band, 0 of nothing.
func PeakBands(x []uint8) (top [Bands]uint8) {
	var several [bandBlock]uint8
	n := peakBandsHead(&several, x)
	for i, v := range several {
		top[i%Bands] = max(top[i%Bands], v)
	}
	peakBands(&top, x[n:])
	return top
}

func peakBands(top *[Bands]uint8, x []uint8) {
	for ; len(x) >= Bands; x = x[Bands:] {
		for k, v := range x[:Bands] {
			top[k] = max(top[k], v)
		}
	}
}

// bandBlock is four frames, which are whole registers.
const bandBlock = 4 * Bands

// AboveFloors sets dst to how far each level lies above the floor of its band, 0 for what lies below. No level lies more than 255
// above its floor.
func AboveFloors(dst, x []uint8, floor *[Bands]int32) {
	x = x[:len(dst)]
	n := aboveFloorsHead(dst, x, floor)
	aboveFloors(dst[n:], x[n:], floor)
}

func aboveFloors(dst, x []uint8, floor *[Bands]int32) {
	for ; len(x) >= Bands; dst, x = dst[Bands:], x[Bands:] {
		for k, v := range x[:Bands] {
			dst[k] = uint8(max(int32(v)-floor[k], 0))
		}
	}
}

// BandSums holds, per band, sums over frames: of levels, of their squares, and of their products with other levels.
type BandSums struct{ Level, Square, Product [Bands]uint32 }

const (
	// FallOne is a fall of one step a frame.
	FallOne = 1 << 16
	// FallFree lets a level fall as it does.
	FallFree = 256 * FallOne
	bandHalf = FallOne / 2
)

// SumBands sums over the frames of x how far each level lies above the floor of its band, 0 for what lies below, and takes it times the
// level in y. In between a level of x falls by fall at most from frame to frame, as a sound with a tail does, and is rounded to
// whole steps; where it has fallen below the next one, it begins anew. No level of x lies more than 255 above its floor; there are at most
// 65536 frames. fall is between 1 and FallFree.
func SumBands(sums *BandSums, x, y []uint8, floor *[Bands]int32, fall int32) {
	frames := len(x) / Bands
	x, y = x[:frames*Bands], y[:frames*Bands]
	*sums = BandSums{}
	if sumBandsHead(sums, x, y, floor, fall) == 0 {
		sumBands(sums, x, y, floor, fall)
	}
}

func sumBands(sums *BandSums, x, y []uint8, floor *[Bands]int32, fall int32) {
	var course [Bands]int32
	for ; len(x) >= Bands && len(y) >= Bands; x, y = x[Bands:], y[Bands:] {
		u, v := (*[Bands]uint8)(x), (*[Bands]uint8)(y)
		for k := range course {
			c := max(int32(u[k])*FallOne, course[k]-fall)
			course[k] = c
			level := uint32(max((c+bandHalf)/FallOne-floor[k], 0))
			sums.Level[k] += level
			sums.Square[k] += level * level
			sums.Product[k] += level * uint32(v[k])
		}
	}
}
