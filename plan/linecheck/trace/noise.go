package trace

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/align"
)

// quiet is the power spectrum of a silence: power[k] is the mean square in the bin around k*rate/n hertz.
type quiet struct {
	power []float64
	hz    float64 // of a bin
}

// quietOf measures a silence under a Hann window (in power its leakage is 1.5 bins wide).
func quietOf(x []float64, rate float64) quiet {
	n := smooth(len(x))
	pad := make([]float64, n)
	norm := 0.0
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(x)))
		norm += w * w
		pad[i] = w * v
	}
	X := fourier.NewFFT(n).Coefficients(nil, pad)
	q := quiet{power: make([]float64, len(X)), hz: rate / float64(n)}
	for k, v := range X {
		q.power[k] = 2 * square(v) / float64(n) / norm
	}
	q.power[0] /= 2
	return q
}

// Flat noise reaches from 22.4 Hz to 22.4 kHz (IEC 60268-1, wide band; from memory).
const (
	noiseLowHz  = 22.4
	noiseHighHz = 22400.0
)

// level is the noise in dBFS rms, flat and A-weighted, without the lines of hum.
func (q quiet) level(hum *hum) (flat, a float64) {
	power := q.power
	if hum != nil {
		power = hum.without(q)
	}
	var sum, weighted float64
	for k, p := range power {
		hz := float64(k) * q.hz
		if hz < noiseLowHz || hz > noiseHighHz {
			continue
		}
		sum += p
		weighted += p * math.Pow(10, AWeighting(hz)/10)
	}
	return decibels(sum), decibels(weighted)
}

// AWeighting is the A curve of IEC 61672-1:2013 annex E in dB, 0 at 1 kHz; -Inf at 0 Hz.
func AWeighting(hz float64) float64 {
	const f1, f2, f3, f4 = 20.598997, 107.65265, 737.86223, 12194.217
	s := hz * hz
	return 20*math.Log10(f4*f4*s*s/((s+f1*f1)*math.Sqrt((s+f2*f2)*(s+f3*f3))*(s+f4*f4))) + 1.99965554
}

// hum is the mains heard in the silences.
type hum struct {
	hz    float64 // of the mains: 50 or 60
	power float64 // mean square of all its lines
	lines []int   // harmonics that stand out
}

const (
	humHarmonics = 12
	humReachHz   = 0.6   // lines are looked for this far from their place, for each harmonic half a percent more
	humStands    = 5.0   // what a line must have, over what the noise beside it would put there
	humFloor     = 1e-16 // mean square that counts as nothing
)

// humOf looks for the mains in the average of several silences of one side. Nil where nothing stands out.
func humOf(q quiet) *hum {
	if len(q.power) == 0 { // no silence was recorded
		return nil
	}
	var best *hum
	for _, base := range []float64{50, 60} {
		h := &hum{hz: base}
		for n := 1; n <= humHarmonics; n++ {
			if p, ok := line(q, base*float64(n)); ok {
				h.power += p
				h.lines = append(h.lines, n)
			}
		}
		if len(h.lines) > 0 && h.lines[0] <= 3 && (best == nil || h.power > best.power) {
			best = h
		}
	}
	if best == nil || best.power < humFloor {
		return nil
	}
	return best
}

// span is the range of bins that a line at a frequency may fill.
func (q quiet) span(hz float64) (lo, hi int) {
	reach := humReachHz + 0.002*hz + 2*1.5*q.hz
	return max(1, int((hz-reach)/q.hz)), min(len(q.power)-1, int(math.Ceil((hz+reach)/q.hz)))
}

// line is the power of a line over the noise beside it.
func line(q quiet, hz float64) (power float64, ok bool) {
	lo, hi := q.span(hz)
	sum := 0.0
	for _, p := range q.power[lo : hi+1] {
		sum += p
	}
	under := beside(q, lo, hi) * float64(hi-lo+1)
	return sum - under, sum > humStands*under && sum > humFloor
}

// beside is the usual power of a bin to either side of lo..hi.
func beside(q quiet, lo, hi int) float64 {
	wide := max(6, hi-lo)
	var list []float64
	for k := max(3, lo-wide); k < lo; k++ {
		list = append(list, q.power[k])
	}
	for k := hi + 1; k <= min(len(q.power)-1, hi+wide); k++ {
		list = append(list, q.power[k])
	}
	return align.Median(list) / math.Ln2 // the median of an exponential distribution against its mean
}

// without is the spectrum with the lines of the hum replaced by the noise beside them.
func (h *hum) without(q quiet) []float64 {
	power := append([]float64(nil), q.power...)
	for _, n := range h.lines {
		lo, hi := q.span(h.hz * float64(n))
		b := beside(q, lo, hi)
		for k := lo; k <= hi; k++ {
			power[k] = min(power[k], b)
		}
	}
	return power
}

// average is the mean of spectra of one length.
func average(list []quiet) quiet {
	if len(list) == 0 {
		return quiet{}
	}
	out := quiet{power: make([]float64, len(list[0].power)), hz: list[0].hz}
	n := 0.0
	for _, q := range list {
		if len(q.power) != len(out.power) {
			continue
		}
		n++
		for k, p := range q.power {
			out.power[k] += p
		}
	}
	for k := range out.power {
		out.power[k] /= n
	}
	return out
}
