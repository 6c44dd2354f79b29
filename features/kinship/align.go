package kinship

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/align"
)

// AlignRateHz is the rate of the waveforms that a Waveform makes for Align.
const AlignRateHz = waveRateHz

// Waveform brings the sound of a track to AlignRateHz, whole. Feed it with Write, then call Samples.
type Waveform struct {
	reduce *decimator
	most   int
	out    []float32
}

// NewWaveform returns a Waveform for a file of that rate that keeps the first samples, at most the number given.
func NewWaveform(sampleRateHz, most int) *Waveform {
	return &Waveform{reduce: newDecimator(sampleRateHz, 1), most: most}
}

// Write takes the next samples and reports whether more is wanted.
func (w *Waveform) Write(x []float32) bool {
	for len(x) > 0 && len(w.out) < w.most {
		n := min(unit, len(x))
		w.reduce.write(1, x[:n])
		w.keep()
		x = x[n:]
	}
	return len(w.out) < w.most
}

func (w *Waveform) keep() {
	out := w.reduce.lanes[0].out
	w.out = append(w.out, out[:min(len(out), max(w.most-len(w.out), 0))]...)
}

// Samples ends the track: sample m lies m/4000 s after the first of the file.
func (w *Waveform) Samples() []float32 {
	w.reduce.finish(1)
	w.keep()
	return w.out
}

// Alignment is where one sound lies in another.
type Alignment struct {
	Lag    float64 // in samples: where the first sample of x lies in y
	Height float64 // of the correlation there, 0..1: 1 for the same sound
	Rival  float64 // the highest elsewhere, more than 50 ms away
	Chance float64 // root mean square over all lags
}

// Aligner looks for one sound x in others.
type Aligner struct {
	rateHz int
	fft    *fourier.FFT
	size   int
	x      []complex128
}

// NewAligner prepares the search for x in sounds of at most n samples, all at one rate. The transforms have the next power of 2
// above the longer of the two; lags beyond what is common wrap around.
func NewAligner(x []float32, n, rateHz int) *Aligner {
	a := &Aligner{rateHz: rateHz, size: align.Size(max(len(x), n))}
	a.fft = fourier.NewFFT(a.size)
	a.x = a.whiten(x)
	return a
}

// whiten is the spectrum of x from 60 Hz up, each bin over the root mean square of its surroundings (the smoothed
// coherence transform, Knapp and Carter 1976), of energy 1; nil for silence.
func (a *Aligner) whiten(x []float32) []complex128 {
	in := make([]float64, a.size)
	for i, v := range x[:min(len(x), a.size)] {
		in[i] = float64(v)
	}
	c := a.fft.Coefficients(nil, in)
	hertz := float64(a.rateHz) / float64(a.size)
	lo, hi := int(60/hertz), min(int(1800/hertz)+1, len(c))
	if a.rateHz > 2*waveRateHz {
		hi = min(int(12000/hertz)+1, len(c))
	}
	half := max(1, int(10/hertz))
	power := make([]float64, len(c)+1) // running sum
	for k, v := range c {
		power[k+1] = power[k] + real(v)*real(v) + imag(v)*imag(v)
	}
	around := func(k int) float64 {
		u, v := max(k-half, lo), min(k+half+1, hi)
		return (power[v] - power[u]) / float64(v-u)
	}
	var top float64
	for k := lo; k < hi; k++ {
		top = max(top, around(k))
	}
	if !(top > 0) || math.IsInf(top, 1) {
		return nil
	}
	var energy float64
	for k := range c {
		if k < lo || k >= hi {
			c[k] = 0
			continue
		}
		c[k] /= complex(math.Sqrt(around(k)+1e-6*top), 0)
		energy += real(c[k])*real(c[k]) + imag(c[k])*imag(c[k])
	}
	for k := range c {
		c[k] /= complex(math.Sqrt(energy), 0)
	}
	return c
}

// Look looks for x in y at the lags from lo to hi, in samples; rivals are looked for at all lags. Height is 0 where either is silent.
func (a *Aligner) Look(y []float32, lo, hi int) Alignment {
	c := a.whiten(y)
	if a.x == nil || c == nil {
		return Alignment{}
	}
	for k, v := range a.x {
		c[k] *= complex(real(v), -imag(v))
	}
	r := a.fft.Sequence(nil, c)
	at := func(lag int) float64 { return math.Abs(r[((lag%a.size)+a.size)%a.size]) / 2 }
	var out Alignment
	best := lo
	for lag := lo; lag <= hi; lag++ {
		if v := at(lag); v > out.Height {
			out.Height, best = v, lag
		}
	}
	var square float64
	near := a.rateHz / 20
	for lag := range a.size {
		v := at(lag)
		square += v * v
		away := min((lag-best+2*a.size)%a.size, (best-lag+2*a.size)%a.size)
		if away > near {
			out.Rival = max(out.Rival, v)
		}
	}
	out.Chance = math.Sqrt(square / float64(a.size))
	l, m, h := at(best-1), at(best), at(best+1)
	out.Lag = float64(best)
	if d := l - 2*m + h; d < 0 {
		out.Lag += (l - h) / (2 * d)
	}
	return out
}
