package align

import (
	"math"
	"math/cmplx"
)

// Options say where to look.
type Options struct {
	MinLag, MaxLag int     // lags that are possible, samples; both 0: all
	Low, High      float64 // band, cycles per sample; High 0: 0.005 to 0.4
	Frame          int     // length of a frame for the phase, a power of two; 0: 4096, less for short excerpts
	Whitening      float64 // of the coarse search, 0..1; 0: 0.5, which stands filters and steady tones
}

// Match is how y lies against x.
type Match struct {
	Delay     float64 // samples, positive: y is later
	Sigma     float64 // standard error of Delay
	Gain      float64 // amplitude of y over x in the band, below 0 where the polarity is inverted
	Coherence float64 // share of y's energy in the band that is x, filtered: 0..1
	Peak      float64 // how far the peak of the coarse search stands over the rms of the other lags
}

// Found says that the match is one: the peak stands out and the signals have something in common.
func (m Match) Found() bool { return m.Peak > 8 && m.Coherence > 0.05 }

// Find finds delay, gain and polarity of y against x, two excerpts of one passage: first the lag where the whitened
// correlation peaks, then the slope of the phase, bins weighted by c/(1-c) of their coherence c (the weighting of least
// variance, Hannan and Thomson 1973). Excerpts of some seconds do best. Silence gives the zero Match.
func Find(x, y []float64, o Options) Match {
	if o.High == 0 {
		o.Low, o.High = 0.005, 0.4
	}
	if o.Whitening == 0 {
		o.Whitening = 0.5
	}
	r, zero := CorrelateWhite(x, y, o.Whitening)
	if len(r) == 0 {
		return Match{}
	}
	lo, hi := 0, len(r)
	if o.MinLag != 0 || o.MaxLag != 0 {
		lo, hi = max(0, zero+o.MinLag), min(len(r), zero+o.MaxLag+1)
	}
	if lo >= hi {
		return Match{}
	}
	at, value := Peak(r[lo:hi])
	if value == 0 {
		return Match{}
	}
	m := Match{Delay: at + float64(lo-zero), Peak: math.Abs(value) / rms(r)}
	lag := int(math.Round(m.Delay))
	s := CrossSpectra(x, y, lag, frameFor(o.Frame, x, y, lag))
	if s.Frames == 0 {
		return m
	}
	m.phase(s, lag, o)
	return m
}

// frameFor is the longest frame, not above the one asked for, of which at least eight fit.
func frameFor(want int, x, y []float64, lag int) int {
	if want == 0 {
		want = 4096
	}
	common := min(len(x), len(y)-lag) - max(0, -lag)
	for want > 64 && 8*want > common {
		want /= 2
	}
	return want
}

// phase takes delay, gain and coherence from the cross-spectrum at a lag.
func (m *Match) phase(s *Spectra, lag int, o Options) {
	var h []complex128
	var hz, weight []float64
	var xx, yy, common float64
	for k := 1; k < len(s.XY)-1; k++ {
		f := float64(k) / float64(s.N)
		if f < o.Low || f > o.High {
			continue
		}
		c := s.Coherence(k)
		h, hz, weight = append(h, s.XY[k]), append(hz, f), append(weight, c/(1.001-c))
		xx, yy, common = xx+s.XX[k], yy+s.YY[k], common+c*s.YY[k]
	}
	if xx == 0 || yy == 0 {
		return
	}
	fit := Slope(h, hz, weight, m.Delay-float64(lag))
	m.Delay, m.Sigma = fit.Delay+float64(lag), fit.Sigma
	m.Coherence = common / yy
	// What of y is in step with x gives the gain: its real part after the delay is taken out.
	re := 0.0
	for k, v := range h {
		re += real(v * cmplx.Rect(1, 2*math.Pi*hz[k]*fit.Delay))
	}
	m.Gain = re / xx
	if fit.Inverted != (m.Gain < 0) && m.Gain != 0 {
		m.Gain = -m.Gain
	}
}

func rms(x []float64) float64 {
	s := 0.0
	for _, v := range x {
		s += v * v
	}
	return math.Sqrt(s / float64(max(1, len(x))))
}
