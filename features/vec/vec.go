// Package vec holds the loops over planes of samples and over spectra that the measuring pass spends its time in: sums,
// peaks, products, roots.
//
// Slices are float32 unless said otherwise; where two go in, they have equal lengths or the first one's length counts.
// Nothing allocates. Infinite and NaN values give what IEEE 754 arithmetic gives.
//
// Processors of the amd64 family with AVX2 and FMA run vector kernels (made by the program in gen) over whole blocks,
// and plain Go over what is left; all others, and builds with the tag purego, run plain Go. The two add in different
// orders, so sums differ by rounding; peaks, roots and quantised samples are the same to the bit.
package vec

//go:generate go run ./gen -out kernels_amd64.s -stubs kernels_amd64.go -pkg vec

import "math"

// signBit is the sign of a float32. Without it, floating-point numbers and the integers with the same bits are in the
// same order, and integer maxima are cheaper.
const signBit = 1 << 31

// Peak returns the largest magnitude in x, 0 of nothing, NaN if there is one.
func Peak(x []float32) float32 {
	n, top := peakHead(x)
	return math.Float32frombits(max(top, peakBits(x[n:])))
}

func peakBits(x []float32) uint32 {
	var a, b uint32
	for ; len(x) >= 8; x = x[8:] {
		w := (*[8]float32)(x)
		a = max(a, math.Float32bits(w[0])&^signBit, math.Float32bits(w[1])&^signBit,
			math.Float32bits(w[2])&^signBit, math.Float32bits(w[3])&^signBit)
		b = max(b, math.Float32bits(w[4])&^signBit, math.Float32bits(w[5])&^signBit,
			math.Float32bits(w[6])&^signBit, math.Float32bits(w[7])&^signBit)
	}
	for _, v := range x {
		a = max(a, math.Float32bits(v)&^signBit)
	}
	return max(a, b)
}

// PeakBlock is the number of samples whose peak is one of Peaks.
const PeakBlock = 64

// Peaks sets dst to the peaks of successive blocks of 64 samples; len(x) is 64 len(dst) at least.
func Peaks(dst, x []float32) {
	x = x[:len(dst)*PeakBlock]
	for i := peaksHead(dst, x); i < len(dst); i++ {
		dst[i] = math.Float32frombits(peakBits(x[i*PeakBlock:][:PeakBlock]))
	}
}

// Dot returns the sum of x[i]*y[i].
func Dot(x, y []float32) float32 {
	y = y[:len(x)]
	n, sum := dotHead(x, y)
	return sum + dot(x[n:], y[n:])
}

func dot(x, y []float32) float32 {
	var s0, s1, s2, s3 float32 // so that additions need not wait for one another
	for len(x) >= 4 && len(y) >= 4 {
		a, b := (*[4]float32)(x), (*[4]float32)(y)
		s0 += a[0] * b[0]
		s1 += a[1] * b[1]
		s2 += a[2] * b[2]
		s3 += a[3] * b[3]
		x, y = x[4:], y[4:]
	}
	for i, v := range x {
		s0 += v * y[i]
	}
	return (s0 + s1) + (s2 + s3)
}

// SquaredDifference returns the sum of (x[i]-y[i])^2, each difference in float32, summed in float64.
func SquaredDifference(x, y []float32) float64 {
	y = y[:len(x)]
	n, sum := squaredDifferenceHead(x, y)
	return sum + squaredDifference(x[n:], y[n:])
}

func squaredDifference(x, y []float32) float64 {
	var s0, s1, s2, s3 float64
	for len(x) >= 4 && len(y) >= 4 {
		a, b := (*[4]float32)(x), (*[4]float32)(y)
		d0, d1, d2, d3 := float64(a[0]-b[0]), float64(a[1]-b[1]), float64(a[2]-b[2]), float64(a[3]-b[3])
		s0 += d0 * d0
		s1 += d1 * d1
		s2 += d2 * d2
		s3 += d3 * d3
		x, y = x[4:], y[4:]
	}
	for i, v := range x {
		d := float64(v - y[i])
		s0 += d * d
	}
	return (s0 + s1) + (s2 + s3)
}

// Accumulate adds x to sum, element by element.
func Accumulate(sum []float64, x []float32) {
	sum = sum[:len(x)]
	n := accumulateHead(sum, x)
	accumulate(sum[n:], x[n:])
}

func accumulate(sum []float64, x []float32) {
	for i, v := range x {
		sum[i] += float64(v)
	}
}

// Add adds x to sum, element by element.
func Add(sum, x []float64) {
	sum = sum[:len(x)]
	n := addHead(sum, x)
	add(sum[n:], x[n:])
}

func add(sum, x []float64) {
	for i, v := range x {
		sum[i] += v
	}
}

// Average sets dst to the means of x and y.
func Average(dst, x, y []float32) {
	x, y = x[:len(dst)], y[:len(dst)]
	n := averageHead(dst, x, y)
	average(dst[n:], x[n:], y[n:])
}

func average(dst, x, y []float32) {
	for i, v := range x {
		dst[i] = (v + y[i]) * 0.5
	}
}

// FourthRoots sets dst to the fourth roots of x.
func FourthRoots(dst, x []float32) {
	x = x[:len(dst)]
	n := fourthRootsHead(dst, x)
	fourthRoots(dst[n:], x[n:])
}

func fourthRoots(dst, x []float32) {
	for i, v := range x {
		dst[i] = float32(math.Sqrt(float64(float32(math.Sqrt(float64(v))))))
	}
}

// SumAndDistance returns the sum of x[i]+y[i] and that of |x[i]-y[i]|.
func SumAndDistance(x, y []float32) (sum, distance float32) {
	y = y[:len(x)]
	n, s, d := sumAndDistanceHead(x, y)
	sum, distance = sumAndDistance(x[n:], y[n:])
	return s + sum, d + distance
}

func sumAndDistance(x, y []float32) (sum, distance float32) {
	for i, v := range x {
		sum += v + y[i]
		distance += math.Float32frombits(math.Float32bits(v-y[i]) &^ signBit)
	}
	return sum, distance
}
