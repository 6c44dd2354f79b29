package stems

import (
	"fmt"
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features"
)

// coarseLag finds delays of more than a passage from the envelopes of sum and mix, in frames. 0 where none stands out.
func (c *comparison) coarseLag() int {
	a, b := c.envelopes[0], c.envelopes[1]
	size := 1
	for size < 2*len(a) {
		size *= 2
	}
	// Rises and falls of the envelope, over two steps so that a delay between steps does not hide them.
	flux := func(x []float64) ([]float64, float64) {
		out, power := make([]float64, size), 0.0
		for i := 3; i < len(x); i++ {
			out[i] = x[i] + x[i-1] - x[i-2] - x[i-3]
			power += out[i] * out[i]
		}
		return out, power
	}
	x, px := flux(a)
	y, py := flux(b)
	if px == 0 || py == 0 {
		return 0
	}
	corr := correlate(x, y)
	best, at := corr[0], 0
	for i, v := range corr {
		if v > best {
			best, at = v, i
		}
	}
	if at > size/2 {
		at -= size
	}
	const clear = 0.5 // what is only shifted correlates by nearly 1
	if best < clear*math.Sqrt(px*py) || best < 1.05*corr[0] || abs(at)*envelopeFrames < passageFrames/4 {
		return 0
	}
	return at * envelopeFrames
}

func abs(n int) int { return max(n, -n) }

// correlate gives at index k (modulo the length, a power of two) the sum over i of x[i] y[i+k].
func correlate(x, y []float64) []float64 {
	fft := fourier.NewFFT(len(x))
	X, Y := fft.Coefficients(nil, x), fft.Coefficients(nil, y)
	for i := range X {
		X[i] = cmplx.Conj(X[i]) * Y[i]
	}
	out := fft.Sequence(nil, X)
	for i := range out {
		out[i] /= float64(len(x)) // Sequence does not
	}
	return out
}

// delay finds by how many frames the mix is later than the sum within the passages; strong if it correlates clearly
// better there than where it stands.
func (e *evidence) delay() (lag int, strong bool) {
	const size = 2 * passageFrames
	total := make([]float64, size)
	var ss, mm float64
	for k := range e.starts {
		for side := range e.sum {
			x, y := make([]float64, size), make([]float64, size)
			for i := range passageFrames {
				x[i], y[i] = float64(e.sum[side][k*passageFrames+i]), float64(e.mix[side][k*passageFrames+i])
			}
			ss, mm = ss+square(x), mm+square(y)
			for i, v := range correlate(x, y) {
				total[i] += v
			}
		}
	}
	if ss == 0 || mm == 0 {
		return 0, false
	}
	best, at := 0.0, 0
	for i, v := range total {
		lag := i
		if lag > size/2 {
			lag -= size
		}
		// what the delay moves out of the passage is missing from the correlation
		v = math.Abs(v) / (1 - math.Abs(float64(lag))/passageFrames)
		if abs(lag) < passageFrames*3/4 && v > best {
			best, at = v, lag
		}
	}
	norm := math.Sqrt(ss * mm)
	return at, best > 0.3*norm && best > math.Abs(total[0])*1.02
}

// match is the correlation of sum and mix over the passages, 0..1, whatever their polarity.
func (e *evidence) match() float64 {
	var ss, mm, sm float64
	for side := range e.sum {
		for i, v := range e.sum[side] {
			a, b := float64(v), float64(e.mix[side][i])
			ss, mm, sm = ss+a*a, mm+b*b, sm+a*b
		}
	}
	if ss == 0 || mm == 0 {
		return 0
	}
	return math.Abs(sm) / math.Sqrt(ss*mm)
}

// leastFraction is the smallest part of a sample that counts as a delay.
const leastFraction = 0.02

// shift tells whether a delay, with a gain, is all there is. The evidence has been gathered at that lag.
func (e *evidence) shift(lag int) *Reason {
	before := rms(e.c.rr, e.c.frames)
	var a [2]float64
	var rest [2][]float64
	for side := range a {
		var ss, sm float64
		for i, v := range e.sum[side] {
			ss += float64(v) * float64(v)
			sm += float64(v) * float64(e.mix[side][i])
		}
		if ss > 0 {
			a[side] = sm / ss
		}
		rest[side] = make([]float64, len(e.sum[side]))
		for i, v := range e.sum[side] {
			rest[side][i] = a[side]*float64(v) - float64(e.mix[side][i])
		}
	}
	left := e.level(rest)
	fraction := 0.0
	if left > max(e.floor(), before-explainedDB) {
		if fraction = e.fraction(); math.Abs(fraction) < leastFraction {
			return nil
		}
		if left = e.level(e.turned(a, fraction)); left > before-partlyDB-10 {
			return nil
		}
	}
	g := gainReason(a, left)
	if fraction != 0 && math.Abs(g.GainDB[0]) < 0.5 && math.Abs(g.GainDB[1]) < 0.5 && g.Kind != KindPolarity {
		g.GainDB = [2]float64{} // the part of a sample costs the fit some gain
	}
	r := &Reason{Kind: KindShift, Samples: float64(lag) + fraction, Remains: features.DB(left), GainDB: g.GainDB,
		Text: "the mix is " + delayWords(float64(lag)+fraction, e.c.session.RateHz)}
	if g.Kind == KindPolarity || g.GainDB != [2]float64{} {
		r.Text += "; besides, " + g.Text
	}
	if fraction != 0 {
		r.Text += "; a part of a sample points to a resampler, an analogue loop or a filter on the way"
	}
	return r
}

// fraction is what is left of a delay below a sample, from the slope of the phase.
func (e *evidence) fraction() float64 {
	fft := fourier.NewFFT(passageFrames)
	cross := make([]complex128, passageFrames/2+1)
	x, y := make([]float64, passageFrames), make([]float64, passageFrames)
	for k := range e.starts {
		for side := range e.sum {
			for i := range x {
				w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/passageFrames)
				x[i], y[i] = w*float64(e.sum[side][k*passageFrames+i]), w*float64(e.mix[side][k*passageFrames+i])
			}
			X, Y := fft.Coefficients(nil, x), fft.Coefficients(nil, y)
			for i := range cross {
				cross[i] += X[i] * cmplx.Conj(Y[i])
			}
		}
	}
	var sum complex128 // turned so that a mix of inverted polarity has its phase at 0, too
	for _, v := range cross {
		sum += v
	}
	sign := complex(1, 0)
	if real(sum) < 0 {
		sign = -1
	}
	var num, den float64
	for i, v := range cross {
		f := 2 * math.Pi * float64(i) / passageFrames
		w := cmplx.Abs(v)
		num += w * f * cmplx.Phase(sign*v)
		den += w * f * f
	}
	if den == 0 {
		return 0
	}
	return num / den
}

// turned is what is left when the sum, with a gain for each side, is delayed by a part of a sample: turned in phase in each
// passage, whose ends are faded out.
func (e *evidence) turned(gain [2]float64, fraction float64) (left [2][]float64) {
	fft := fourier.NewFFT(passageFrames)
	x := make([]float64, passageFrames)
	for side := range left {
		left[side] = make([]float64, len(e.sum[side]))
		for k := range e.starts {
			for i := range x {
				w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/passageFrames)
				x[i] = w * float64(e.sum[side][k*passageFrames+i])
			}
			X := fft.Coefficients(nil, x)
			for i := range X {
				X[i] *= cmplx.Rect(gain[side]/passageFrames, -2*math.Pi*float64(i)*fraction/passageFrames)
			}
			for i, v := range fft.Sequence(nil, X) {
				w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/passageFrames)
				left[side][k*passageFrames+i] = v - w*float64(e.mix[side][k*passageFrames+i])
			}
		}
	}
	return left
}

func delayWords(samples float64, rateHz int) string {
	word := "late"
	if samples < 0 {
		word, samples = "early", -samples
	}
	number := fmt.Sprintf("%.0f", samples)
	if samples != math.Round(samples) {
		number = fmt.Sprintf("%.2f", samples)
	}
	return fmt.Sprintf("%s samples (%.2f ms) %s", number, samples/float64(rateHz)*1000, word)
}
