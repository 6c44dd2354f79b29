package loudness

import "math"

// kFilter is the K-weighting of BS.1770-5 Annex 1 for one channel: a high shelf, then a high-pass (RLB) whose zeros both
// lie at 0 Hz; and the sum of the squared output over the hop in progress.
//
// The sections are linear, so their parts run in the order that costs least: first the zeros of the high-pass, as two
// differences of the input, so that a DC offset is gone before it can meet rounding; then the shelf in direct form II
// without its leading coefficient, which energyGain makes up for once per sum; then the poles of the high-pass. Each
// recursion has only one product and one subtraction that wait for the sample before.
type kFilter struct {
	c1, c2     float64 // shelf numerator 1 + c1 z^-1 + c2 z^-2
	a1, a2     float64 // shelf denominator
	g1, g2     float64 // high-pass denominator
	energyGain float64 // square of the shelf's b0

	x1, d1 float64 // input and its first difference, one sample ago
	w1, w2 float64 // inside the shelf
	v1, v2 float64 // output
	sum    float64
}

// biquad holds direct-form coefficients with a0 = 1: y = b0 x + b1 x1 + b2 x2 - a1 y1 - a2 y2.
type biquad struct{ b0, b1, b2, a1, a2 float64 }

// kCoefficients returns the shelf and the high-pass for a sample rate. The Recommendation prints them for 48 kHz only;
// the analogue prototype behind the printed figures (frequency, Q, gain and the two shelf exponents below) is the one
// published as "ITU-R BS.1770-1 filter specifications (unofficial)", 2011, and used by libebur128. At 48 kHz it gives the
// printed coefficients to all digits.
func kCoefficients(sampleRateHz int) (shelf, highPass biquad) {
	fs := float64(sampleRateHz)
	warp := func(f0 float64) float64 { return math.Tan(math.Pi * min(f0/fs, 0.45)) }

	k := warp(1681.974450955533)
	const q = 0.7071752369554196
	vh := math.Pow(10, 3.999843853973347/20)
	vb := math.Pow(vh, 0.4996667741545416)
	d := 1 + k/q + k*k
	shelf = biquad{
		b0: (vh + vb*k/q + k*k) / d,
		b1: 2 * (k*k - vh) / d,
		b2: (vh - vb*k/q + k*k) / d,
		a1: 2 * (k*k - 1) / d,
		a2: (1 - k/q + k*k) / d,
	}

	k = warp(38.13547087602444)
	const hq = 0.5003270373238773
	d = 1 + k/hq + k*k
	highPass = biquad{b0: 1, b1: -2, b2: 1, a1: 2 * (k*k - 1) / d, a2: (1 - k/hq + k*k) / d}
	return shelf, highPass
}

func newKFilter(sampleRateHz int) kFilter {
	s, h := kCoefficients(sampleRateHz)
	return kFilter{
		c1: s.b1 / s.b0, c2: s.b2 / s.b0,
		a1: s.a1, a2: s.a2,
		g1: h.a1, g2: h.a2,
		energyGain: s.b0 * s.b0,
	}
}

// sumSquares filters x and adds the squares of the output to f.sum.
func (f *kFilter) sumSquares(x []float32) {
	x1, d1, w1, w2, v1, v2, sum := f.x1, f.d1, f.w1, f.w2, f.v1, f.v2, f.sum
	for _, sample := range x {
		in := float64(sample)
		d := in - x1
		w := ((d - d1) - f.a2*w2) - f.a1*w1
		v := ((w + f.c1*w1 + f.c2*w2) - f.g2*v2) - f.g1*v1
		sum += v * v
		x1, d1, w2, w1, v2, v1 = in, d, w1, w, v1, v
	}
	f.x1, f.d1, f.w1, f.w2, f.v1, f.v2, f.sum = x1, d1, w1, w2, v1, v2, sum
}

// sumSquares2 does for two channels in one loop what sumSquares does for one: their recursions need not wait for one
// another. Both filters' coefficients are read from memory, which leaves the registers to the states. x and y have equal
// lengths.
func sumSquares2(f, g *kFilter, x, y []float32) {
	x1, d1, w1, w2, v1, v2, sum := f.x1, f.d1, f.w1, f.w2, f.v1, f.v2, f.sum
	y1, e1, r1, r2, u1, u2, sum2 := g.x1, g.d1, g.w1, g.w2, g.v1, g.v2, g.sum
	y = y[:len(x)]
	for i, sample := range x {
		in := float64(sample)
		d := in - x1
		w := ((d - d1) - f.a2*w2) - f.a1*w1
		v := ((w + f.c1*w1 + f.c2*w2) - f.g2*v2) - f.g1*v1
		sum += v * v
		x1, d1, w2, w1, v2, v1 = in, d, w1, w, v1, v

		in = float64(y[i])
		d = in - y1
		w = ((d - e1) - g.a2*r2) - g.a1*r1
		v = ((w + g.c1*r1 + g.c2*r2) - g.g2*u2) - g.g1*u1
		sum2 += v * v
		y1, e1, r2, r1, u2, u1 = in, d, r1, w, u1, v
	}
	f.x1, f.d1, f.w1, f.w2, f.v1, f.v2, f.sum = x1, d1, w1, w2, v1, v2, sum
	g.x1, g.d1, g.w1, g.w2, g.v1, g.v2, g.sum = y1, e1, r1, r2, u1, u2, sum2
}

// endHop starts a new sum and lets a tail that has died away end in true zeros. Left alone it would go on into denormal
// numbers, where every operation takes many times longer. 1e-30 is 600 dB below full scale, and within one hop no tail
// falls from there to the denormal range, not even squared.
func (f *kFilter) endHop() {
	const dead = 1e-30
	f.sum = 0
	if math.Abs(f.w1) < dead && math.Abs(f.w2) < dead {
		f.w1, f.w2 = 0, 0
	}
	if math.Abs(f.v1) < dead && math.Abs(f.v2) < dead {
		f.v1, f.v2 = 0, 0
	}
}
