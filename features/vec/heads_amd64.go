//go:build amd64 && !purego

package vec

import (
	"math"

	"golang.org/x/sys/cpu"
)

// vectors tells whether the processor runs the kernels.
var vectors = cpu.X86.HasAVX2 && cpu.X86.HasFMA

// A head does as many whole blocks as there are and returns how many elements these were, and what it made of them.

func whole(n, block int) int {
	if !vectors {
		return 0
	}
	return n &^ (block - 1)
}

func peakHead(x []float32) (int, uint32) {
	n := whole(len(x), 8)
	if n == 0 {
		return 0, 0
	}
	return n, math.Float32bits(peakAVX2(&x[0], n))
}

func peaksHead(dst, x []float32) int {
	n := whole(len(dst), 1)
	if n > 0 {
		peaksAVX2(&dst[0], &x[0], n)
	}
	return n
}

func dotHead(x, y []float32) (int, float32) {
	n := whole(len(x), 32)
	if n == 0 {
		return 0, 0
	}
	return n, dotAVX2(&x[0], &y[0], n)
}

func squaredDifferenceHead(x, y []float32) (int, float64) {
	n := whole(len(x), 8)
	if n == 0 {
		return 0, 0
	}
	return n, squaredDifferenceAVX2(&x[0], &y[0], n)
}

func accumulateHead(sum []float64, x []float32) int {
	n := whole(len(x), 8)
	if n > 0 {
		accumulateAVX2(&sum[0], &x[0], n)
	}
	return n
}

func addHead(sum, x []float64) int {
	n := whole(len(x), 8)
	if n > 0 {
		addAVX2(&sum[0], &x[0], n)
	}
	return n
}

func averageHead(dst, x, y []float32) int {
	n := whole(len(dst), 8)
	if n > 0 {
		averageAVX2(&dst[0], &x[0], &y[0], n)
	}
	return n
}

func fourthRootsHead(dst, x []float32) int {
	n := whole(len(dst), 8)
	if n > 0 {
		fourthRootsAVX2(&dst[0], &x[0], n)
	}
	return n
}

func sumAndDistanceHead(x, y []float32) (int, float32, float32) {
	n := whole(len(x), 8)
	if n == 0 {
		return 0, 0, 0
	}
	sum, distance := sumAndDistanceAVX2(&x[0], &y[0], n)
	return n, sum, distance
}

// cellsHead does all cells: what is beyond a cell of odd length is masked, and masked memory is never touched.
func cellsHead(dst []Cell, x []float32, length int) int {
	n := whole(len(dst), 1)
	if n > 0 {
		cellsAVX2(&dst[0].Sum, &x[0], length, n)
	}
	return n
}

func groupsHead(sums, x []float32, before float32) (int, float32, float32) {
	n := whole(len(sums), 4)
	if n == 0 {
		return 0, 0, 0
	}
	power, slope := groupsAVX2(&sums[0], &x[0], before, n*GroupSize)
	return n, power, slope
}

func dotsHead(dst, x, filters []float32, taps []Tap) int {
	n := whole(len(dst), 8)
	if n == 0 {
		return 0
	}
	var at, row uint32 // negative numbers are very large ones here
	for _, t := range taps[:n] {
		at, row = max(at, uint32(t.At)), max(row, uint32(t.Row))
	}
	_, _ = x[int(at)+MaxTaps-1], filters[(int(row)+1)*MaxTaps-1]
	dotsAVX2(&dst[0], &x[0], &filters[0], &taps[0].At, n)
	return n
}

func quantiseHead(code []int8, x []float32, gain float32) int {
	n := whole(len(code), 16)
	if n > 0 {
		quantiseAVX2(&code[0], &x[0], gain, n)
	}
	return n
}

func dequantiseHead(dst []float32, code []int8, gain float32) int {
	n := whole(len(code), 8)
	if n > 0 {
		dequantiseAVX2(&dst[0], &code[0], gain, n)
	}
	return n
}

func halveHead(dst, x []float32) int {
	n := whole(len(dst), 8)
	if n > 0 {
		halveAVX2(&dst[0], &x[0], n)
	}
	return n
}

func crossHead(dst, x, y []float32) int {
	n := whole(len(x)/CrossRow, 1)
	if n > 0 {
		crossAVX2(&dst[0], &x[0], &y[0], n)
	}
	return n * CrossRow
}

func peakBandsHead(top *[bandBlock]uint8, x []uint8) int {
	n := whole(len(x)/bandBlock, 1)
	if n > 0 {
		peakBandsAVX2(&top[0], &x[0], n)
	}
	return n * bandBlock
}

func aboveFloorsHead(dst, x []uint8, floor *[Bands]int32) int {
	n := whole(len(dst)/bandBlock, 1)
	if n > 0 {
		var floors, lifts [bandBlock]uint8
		for i := range floors {
			f := floor[i%Bands]
			floors[i], lifts[i] = uint8(max(f, 0)), uint8(max(-f, 0))
		}
		aboveFloorsAVX2(&dst[0], &x[0], &floors[0], &lifts[0], n)
	}
	return n * bandBlock
}

func sumBandsHead(sums *BandSums, x, y []uint8, floor *[Bands]int32, fall int32) int {
	n := whole(len(x)/Bands, 1)
	if n > 0 {
		var offsets [Bands]int32
		for k, f := range floor {
			offsets[k] = bandHalf - f*FallOne
		}
		sumBandsAVX2(&sums.Level[0], &x[0], &y[0], &offsets[0], fall, n)
	}
	return n * Bands
}

func crossLagged(dst, x, y []float32) bool {
	if vectors {
		crossLaggedAVX2(&dst[0], &x[0], &y[0], len(x)/CrossRow)
	}
	return vectors
}

func crossRowsMade(total []float32, a, b Spectrum, gain float32, n int) bool {
	if vectors {
		const size = 4 // bytes
		crossRowsAVX2(&total[0], &a.Rows[0], &a.Re[0], &a.Im[0], &b.Rows[0], &b.Re[0], &b.Im[0], size*a.Stride, size*b.Stride, gain, n)
	}
	return vectors
}

func crossPlanesHead(dst, x, y []float32, half int) int {
	n := whole(half, 8)
	if n > 0 {
		crossPlanesAVX2(&dst[0], &x[0], &y[0], half, n)
	}
	return n
}
