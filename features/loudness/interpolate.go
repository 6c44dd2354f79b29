package loudness

import "math"

// BS.1770-5 Annex 2 gives a 48-tap interpolator for four times the rate, as four phases of 12 taps. Phase 3 is phase 0
// reversed and phase 2 is phase 1 reversed.
var annex2Phases = [2][12]float64{
	{
		0.0017089843750, 0.0109863281250, -0.0196533203125, 0.0332031250000, -0.0594482421875, 0.1373291015625,
		0.9721679687500, -0.1022949218750, 0.0476074218750, -0.0266113281250, 0.0148925781250, -0.0083007812500,
	},
	{
		-0.0291748046875, 0.0292968750000, -0.0517578125000, 0.0891113281250, -0.1665039062500, 0.4650878906250,
		0.7797851562500, -0.2003173828125, 0.1015625000000, -0.0582275390625, 0.0330810546875, -0.0189208984375,
	},
}

const (
	halfBandTaps = 24
	halfBandBeta = 5.0 // Kaiser window: 0.02 dB of ripple up to 0.43 of the sample rate
)

// halfBandPhase is the interpolator for twice the rate: a Kaiser-windowed sinc half way between the samples, normalised
// to unit gain at 0 Hz. Its other phase is the samples themselves.
func halfBandPhase() []float64 {
	taps := make([]float64, halfBandTaps)
	sum := 0.0
	for i := range taps {
		t := float64(i) - (halfBandTaps-1)/2.0
		r := 2 * t / halfBandTaps
		taps[i] = math.Sin(math.Pi*t) / (math.Pi * t) * besselI0(halfBandBeta*math.Sqrt(1-r*r))
		sum += taps[i]
	}
	for i := range taps {
		taps[i] /= sum
	}
	return taps
}

// besselI0 is the modified Bessel function of the first kind and order 0, by its power series.
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x / (2 * k) * (x / (2 * k))
		sum += term
	}
	return sum
}

// mirrored holds a phase h of n taps and its reverse as even and odd parts, folded at the middle. With s and d the sums
// and differences of the samples that mirror one another, the two outputs are A + B and A - B for A = sum of even*s and
// B = sum of odd*d, and the larger of their magnitudes is |A| + |B|: both phases for little more than the price of one.
// Index 0 is the middle of the filter.
type mirrored struct {
	even, odd [halfBandTaps / 2]float64
	half      int // n/2
	bounds    bounds
	rest      float64 // sum of the magnitudes of the taps beyond the two in the middle of either side
}

// bounds tell how large the output of a phase can be without computing it.
type bounds struct {
	// l1 is the sum of the taps' magnitudes: |y| <= l1 max|x|.
	l1 float64
	// Splitting off two-point interpolation with the same sum and the same first moment leaves taps that see only
	// curvature: |y| <= line max|x| + curve max|x[i-1] - 2 x[i] + x[i+1]|. curve is the sum of the magnitudes of the
	// remaining taps' double running sum (summation by parts, twice).
	line, curve float64
}

func newMirrored(taps []float64) mirrored {
	n := len(taps)
	m := mirrored{half: n / 2, bounds: newBounds(taps)}
	for i := range m.half {
		right, left := taps[n/2+i], taps[n/2-1-i]
		m.even[i] = (right + left) / 2
		m.odd[i] = (right - left) / 2
		if i >= 2 {
			m.rest += math.Abs(right) + math.Abs(left)
		}
	}
	return m
}

func newBounds(taps []float64) bounds {
	var b bounds
	sum, moment := 0.0, 0.0
	for i, h := range taps {
		b.l1 += math.Abs(h)
		sum += h
		moment += float64(i) * h
	}
	at := int(moment / sum)
	second := moment - float64(at)*sum
	first := sum - second
	b.line = math.Abs(first) + math.Abs(second)

	once, twice := 0.0, 0.0
	for i, h := range taps {
		switch i {
		case at:
			h -= first
		case at + 1:
			h -= second
		}
		once += h
		twice += once
		b.curve += math.Abs(twice)
	}
	return b
}

// largest4 returns the largest output of Annex 2 phases h and h reversed over a block, for windows of 12 samples ending
// at x[11], x[12] ... x[11+n-1], if it exceeds floor; otherwise floor. spare is what the taps outside the middle four can
// add at most; windows whose middle four stay below floor - spare are not computed further.
func (m *mirrored) largest4(x *[blockSize + historySize]float64, n int, floor, spare float64) float64 {
	e0, e1, o0, o1 := m.even[0], m.even[1], m.odd[0], m.odd[1]
	worth := floor - spare
	for i := range n {
		w := (*[12]float64)(x[i:])
		a := e0*(w[6]+w[5]) + e1*(w[7]+w[4])
		b := o0*(w[6]-w[5]) + o1*(w[7]-w[4])
		if math.Abs(a)+math.Abs(b) > worth {
			if y := m.magnitude4(w); y > floor {
				floor = y
				worth = floor - spare
			}
		}
	}
	return floor
}

// magnitude4 returns the larger magnitude of the two outputs for one window of 12 samples.
func (m *mirrored) magnitude4(w *[12]float64) float64 {
	e, o := &m.even, &m.odd
	a := e[0]*(w[6]+w[5]) + e[1]*(w[7]+w[4]) + e[2]*(w[8]+w[3]) + e[3]*(w[9]+w[2]) + e[4]*(w[10]+w[1]) + e[5]*(w[11]+w[0])
	b := o[0]*(w[6]-w[5]) + o[1]*(w[7]-w[4]) + o[2]*(w[8]-w[3]) + o[3]*(w[9]-w[2]) + o[4]*(w[10]-w[1]) + o[5]*(w[11]-w[0])
	return math.Abs(a) + math.Abs(b)
}

// largest2 is largest4 for the half-band phase, windows of 24 samples ending at x[23] ... x[23+n-1].
func (m *mirrored) largest2(x *[blockSize + historySize]float64, n int, floor, spare float64) float64 {
	worth := floor - spare
	for i := range n {
		w := (*[halfBandTaps]float64)(x[i:])
		if math.Abs(m.even[0]*(w[12]+w[11])+m.even[1]*(w[13]+w[10])) > worth {
			if y := m.magnitude2(w); y > floor {
				floor = y
				worth = floor - spare
			}
		}
	}
	return floor
}

// magnitude2 returns the magnitude of the half-band output for one window of 24 samples.
func (m *mirrored) magnitude2(w *[halfBandTaps]float64) float64 {
	sum := 0.0
	for i, e := range m.even {
		sum += e * (w[halfBandTaps/2+i] + w[halfBandTaps/2-1-i])
	}
	return math.Abs(sum)
}
