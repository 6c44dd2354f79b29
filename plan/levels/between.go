package levels

import (
	"math"

	"foldout/features/loudness"
	"foldout/plan/stems"
)

const (
	fadeFrames = 32  // longer than half the interpolation filter, so that a block's edges ring into nothing
	quietShare = 0.5 // a block whose samples stay 6 dB below the limit is not looked at: programme does not overshoot by that much
)

// between finds overs that lie between samples, block by block.
type between struct {
	rateHz int
	at     int64 // frame at which the next block begins
	past   [2][2 * fadeFrames]float32
	work   []float32
}

func newBetween(rateHz int) *between {
	return &between{rateHz: rateHz, work: make([]float32, 2*fadeFrames+stems.BlockFrames)}
}

// look takes the block that overs has just watched. Blocks with overs in their samples are left to overs.
func (b *between) look(block [2][]float64, overs *stems.Overs) {
	limit := min(overs.High, -overs.Low)
	n := len(block[0])
	var frames [2]int
	var highest [2]float64
	for side, plane := range block {
		for i, v := range plane {
			if a := math.Abs(v); a > highest[side] {
				highest[side], frames[side] = a, i
			}
		}
	}
	for side, plane := range block {
		work := b.work[:2*fadeFrames+n]
		copy(work, b.past[side][:])
		for i, v := range plane {
			work[2*fadeFrames+i] = float32(v)
		}
		copy(b.past[side][:], work[n:])
		if max(highest[0], highest[1]) > limit || highest[side] < quietShare*limit {
			continue
		}
		for i := range fadeFrames { // the next block looks at the end once more, without fade
			fade := float32(i) / fadeFrames
			work[i] *= fade
			work[len(work)-1-i] *= fade
		}
		meter := loudness.NewTruePeak(b.rateHz, 1)
		meter.Write([][]float32{work})
		if peak := meter.TruePeak(); peak > limit {
			overs.Between(b.at+int64(frames[side]), side, plane[frames[side]], peak)
		}
	}
	b.at += int64(n)
}
