package vec

import "math"

// Cell holds the sums over one stretch of samples.
type Cell struct {
	Sum, Square float64
	Abs         float64 // sum of magnitudes, each cell's added up in float32
	Peak        float32 // largest magnitude
}

// Cells measures x in stretches of the given length, at least 1, one for each element of dst. x holds at least
// len(dst)*length samples.
func Cells(dst []Cell, x []float32, length int) {
	x = x[:len(dst)*length]
	for i := cellsHead(dst, x, length); i < len(dst); i++ {
		dst[i] = cell(x[i*length:][:length])
	}
}

// cell reads x once. Four samples a turn, two sets of sums side by side, because an addition has to wait for the one
// before. What is subtracted later, sum and square, is summed in float64; the magnitudes, a few dozen, need no more
// than their own precision.
func cell(x []float32) Cell {
	var s0, s1, q0, q1 float64
	var a0, a1 float32
	var peak uint32
	for ; len(x) >= 4; x = x[4:] {
		v := (*[4]float32)(x)
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
	for _, v := range x {
		b, d := math.Float32bits(v)&^signBit, float64(v)
		peak = max(peak, b)
		s0 += d
		q0 += d * d
		a0 += math.Float32frombits(b)
	}
	return Cell{Sum: s0 + s1, Square: q0 + q1, Abs: float64(a0 + a1), Peak: math.Float32frombits(peak)}
}

// GroupSize is the number of samples whose sum Groups gives.
const GroupSize = 8

// Groups returns the sum of x[i]^2 and that of (x[i]-x[i-1])^2, x[-1] being before, and sets sums to the sums of
// successive groups of eight samples. len(x) is 8 len(sums).
func Groups(sums, x []float32, before float32) (power, slope float32) {
	x = x[:len(sums)*GroupSize]
	n, p, s := groupsHead(sums, x, before)
	if n > 0 {
		before = x[n*GroupSize-1]
	}
	power, slope = groups(sums[n:], x[n*GroupSize:], before)
	return p + power, s + slope
}

// groups has two sums of each kind, so that additions need not wait for one another.
func groups(sums, x []float32, before float32) (power, slope float32) {
	var power2, slope2 float32
	for i := range sums {
		v := (*[GroupSize]float32)(x[i*GroupSize:])
		a, b, c, d := v[0], v[1], v[2], v[3]
		power += a*a + b*b
		power2 += c*c + d*d
		sum := (a + b) + (c + d)
		p, q, r, s := a-before, b-a, c-b, d-c
		slope += p*p + q*q
		slope2 += r*r + s*s
		before = d
		a, b, c, d = v[4], v[5], v[6], v[7]
		power += a*a + b*b
		power2 += c*c + d*d
		sums[i] = sum + ((a + b) + (c + d))
		p, q, r, s = a-before, b-a, c-b, d-c
		slope += p*p + q*q
		slope2 += r*r + s*s
		before = d
	}
	return power + power2, slope + slope2
}

// MaxTaps is the length of a row of filters in Dots.
const MaxTaps = 32

// Tap says of one output of Dots where the samples begin and which row of the filters weighs them.
type Tap struct{ At, Row int32 }

// Dots sets dst[i] to the sum over k of x[taps[i].At+k] times element k of the row of filters; rows are MaxTaps long.
// Of each row only the first count weights, a multiple of 4, are other than 0. x holds MaxTaps samples from every At on.
func Dots(dst, x, filters []float32, taps []Tap, count int) {
	taps = taps[:len(dst)]
	for i := dotsHead(dst, x, filters, taps); i < len(dst); i++ {
		dst[i] = dotRow(x[taps[i].At:], filters[taps[i].Row*MaxTaps:], count)
	}
}

func dotRow(x, row []float32, count int) float32 {
	u, v := (*[MaxTaps]float32)(x), (*[MaxTaps]float32)(row)
	var a, b, c, d float32
	for k := 0; k < min(count, MaxTaps-3); k += 4 {
		a += u[k] * v[k]
		b += u[k+1] * v[k+1]
		c += u[k+2] * v[k+2]
		d += u[k+3] * v[k+3]
	}
	return (a + b) + (c + d)
}

// Quantise sets code to gain times x, rounded to the nearest whole number, halves away from 0. The products lie within
// -128 .. 127.
func Quantise(code []int8, x []float32, gain float32) {
	x = x[:len(code)]
	n := quantiseHead(code, x, gain)
	quantise(code[n:], x[n:], gain)
}

func quantise(code []int8, x []float32, gain float32) {
	const half = 0x3F000000 // the bits of 0.5
	for i, v := range x {
		v *= gain
		code[i] = int8(int32(v + math.Float32frombits(math.Float32bits(v)&signBit|half)))
	}
}

// Dequantise sets dst to gain times code.
func Dequantise(dst []float32, code []int8, gain float32) {
	dst = dst[:len(code)]
	n := dequantiseHead(dst, code, gain)
	dequantise(dst[n:], code[n:], gain)
}

func dequantise(dst []float32, code []int8, gain float32) {
	for i, c := range code {
		dst[i] = float32(c) * gain
	}
}

// Halve sets dst to every second output of the filter with the taps 1 3 3 1, an eighth each: dst[i] is made of x[2i] to
// x[2i+3]. len(x) is 2 len(dst) + 2 at least.
func Halve(dst, x []float32) {
	if len(dst) == 0 {
		return
	}
	x = x[:2*len(dst)+2]
	n := halveHead(dst, x)
	halve(dst[n:], x[2*n:])
}

func halve(dst, x []float32) {
	a, b := x[0], x[1]
	for i := range dst {
		v := (*[2]float32)(x[2*i+2:])
		dst[i] = 0.125*(a+v[1]) + 0.375*(b+v[0])
		a, b = v[0], v[1]
	}
}
