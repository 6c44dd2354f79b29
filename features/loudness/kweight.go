package loudness

import "math"

// kWeighting is the K filter of BS.1770-5 Annex 1: a high shelf, then a high-pass (RLB) whose zeros both lie at 0 Hz.
//
// The sections are linear, so their parts are run in a cheaper order: the zeros of the high-pass as two plain
// differences of the input, the shelf without its leading coefficient (energyGain makes up for it once per sum), then
// both pairs of poles. With the zeros first, a DC offset is gone before it can meet rounding.
type kWeighting struct {
	c1, c2     float64 // shelf numerator 1 + c1 z^-1 + c2 z^-2
	a1, a2     float64 // shelf denominator
	g1, g2     float64 // high-pass denominator
	energyGain float64 // square of the shelf's b0
}

// kState is the filter's memory for one channel and the sum of its squared output over the hop in progress.
type kState struct {
	x1, d1, e1, e2 float64 // input, first and second difference, one or two samples ago
	u1, u2, v1, v2 float64 // after the shelf, after the high-pass
	sum            float64
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

func newKWeighting(sampleRateHz int) kWeighting {
	s, h := kCoefficients(sampleRateHz)
	return kWeighting{
		c1: s.b1 / s.b0, c2: s.b2 / s.b0,
		a1: s.a1, a2: s.a2,
		g1: h.a1, g2: h.a2,
		energyGain: s.b0 * s.b0,
	}
}

// sumSquares filters x and adds the squares of the output to s.sum. Each recursion is written so that only one product
// and one subtraction wait for the previous sample.
func (k *kWeighting) sumSquares(s *kState, x []float32) {
	c1, c2, a1, a2, g1, g2 := k.c1, k.c2, k.a1, k.a2, k.g1, k.g2
	t := *s
	for _, sample := range x {
		in := float64(sample)
		d := in - t.x1
		e := d - t.d1
		u := (e + c1*t.e1 + c2*t.e2 - a2*t.u2) - a1*t.u1
		v := (u - g2*t.v2) - g1*t.v1
		t.sum += v * v
		t.x1, t.d1 = in, d
		t.e2, t.e1 = t.e1, e
		t.u2, t.u1 = t.u1, u
		t.v2, t.v1 = t.v1, v
	}
	*s = t
}

// sumSquares2 does the work of sumSquares for two channels in one loop. x and y have equal lengths.
func (k *kWeighting) sumSquares2(s, t *kState, x, y []float32) {
	c1, c2, a1, a2, g1, g2 := k.c1, k.c2, k.a1, k.a2, k.g1, k.g2
	p, q := *s, *t
	y = y[:len(x)]
	for i, sample := range x {
		in := float64(sample)
		d := in - p.x1
		e := d - p.d1
		u := (e + c1*p.e1 + c2*p.e2 - a2*p.u2) - a1*p.u1
		v := (u - g2*p.v2) - g1*p.v1
		p.sum += v * v
		p.x1, p.d1 = in, d
		p.e2, p.e1 = p.e1, e
		p.u2, p.u1 = p.u1, u
		p.v2, p.v1 = p.v1, v

		in = float64(y[i])
		d = in - q.x1
		e = d - q.d1
		u = (e + c1*q.e1 + c2*q.e2 - a2*q.u2) - a1*q.u1
		v = (u - g2*q.v2) - g1*q.v1
		q.sum += v * v
		q.x1, q.d1 = in, d
		q.e2, q.e1 = q.e1, e
		q.u2, q.u1 = q.u1, u
		q.v2, q.v1 = q.v1, v
	}
	*s, *t = p, q
}

// endHop starts a new sum and lets a tail that has died away end in true zeros. Left alone it would go on into denormal
// numbers, where every operation takes a hundred times longer; 1e-30 is 600 dB below full scale, and within one hop no
// tail falls from there to the denormal range, not even squared.
func (s *kState) endHop() {
	const dead = 1e-30
	s.sum = 0
	if math.Abs(s.u1)+math.Abs(s.u2) < dead && math.Abs(s.v1)+math.Abs(s.v2) < dead {
		s.u1, s.u2, s.v1, s.v2 = 0, 0, 0, 0
	}
}
