package trace

import (
	"math"
	"math/cmplx"
	"sync"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/plan/linecheck/tones"
)

// deconvolver turns the answer to the sweep into impulse responses: the linear one around its delay, those of the
// harmonics earlier. It is safe for use by several goroutines.
type deconvolver struct {
	sweep   tones.Sweep
	scale   float64 // frames a second of the tones
	n       int
	inverse []complex128 // one over the spectrum of the sweep, within its band
	fft     sync.Pool
}

// newDeconvolver makes one for pieces of at most length frames; amplitude is that of the sweep in the file.
func newDeconvolver(s tones.Sweep, scale float64, length int, amplitude float64) *deconvolver {
	d := &deconvolver{sweep: s, scale: scale, n: smooth(length)}
	d.fft.New = func() any { return fourier.NewFFT(d.n) }
	x := make([]float64, d.n)
	for i := 0; i < d.n && float64(i)/scale <= s.Seconds; i++ {
		x[i] = amplitude * s.At(float64(i)/scale)
	}
	d.inverse = fourier.NewFFT(d.n).Coefficients(nil, x)
	low, high := s.LowHz*1.07, s.HighHz*0.985
	for k, v := range d.inverse {
		hz := float64(k) * scale / float64(d.n)
		w := 0.0
		if hz > low && hz < high {
			w = math.Min(ramp(math.Log(hz/low)/0.2), ramp((high-hz)/(0.04*high)))
		}
		if w == 0 {
			d.inverse[k] = 0
			continue
		}
		d.inverse[k] = complex(w/float64(d.n), 0) / v
	}
	return d
}

// response is the impulse response to what x holds; index 0 belongs to a sweep that begins with x. Harmonics lie before
// it, that is at the end of the circle.
func (d *deconvolver) response(x []float64) []float64 {
	fft := d.fft.Get().(*fourier.FFT)
	defer d.fft.Put(fft)
	pad := make([]float64, d.n)
	copy(pad, x)
	X := fft.Coefficients(nil, pad)
	for k := range X {
		X[k] *= d.inverse[k]
	}
	return fft.Sequence(pad, X)
}

// spectrumAround is the spectrum of h within before and after of place (frames), faded at both ends, with time 0 at
// place; bins k*rate/n, n is returned.
func spectrumAround(h []float64, place, before, after float64) (X []complex128, n int) {
	first, last := int(math.Ceil(place-before)), int(math.Floor(place+after))
	n = smooth(last - first + 1)
	x := make([]float64, n)
	for i := first; i <= last; i++ {
		t := float64(i) - place
		w := 1.0
		if t < 0 {
			w = ramp(2 * (before + t) / before)
		} else {
			w = ramp(2 * (after - t) / after)
		}
		x[((i-first)%n+n)%n] = w * h[((i%len(h))+len(h))%len(h)]
	}
	X = fourier.NewFFT(n).Coefficients(nil, x)
	for k := range X {
		X[k] *= cmplx.Rect(1, 2*math.Pi*float64(k)*(place-float64(first))/float64(n))
	}
	return X, n
}

// ramp rises from 0 at 0 to 1 at 1 as half a cosine.
func ramp(t float64) float64 {
	switch {
	case t <= 0:
		return 0
	case t >= 1:
		return 1
	}
	return 0.5 - 0.5*math.Cos(math.Pi*t)
}

// smooth is the smallest number of the form 2^a or 3 2^a not below n: lengths that transform fast.
func smooth(n int) int {
	p := 2
	for p < n {
		if 3*p/2 >= n && p >= 4 {
			return 3 * p / 2
		}
		p *= 2
	}
	return p
}

// bandPower averages |X|^2 around frequencies: within width octaves, the complex values over parts of half that width
// first, which takes noise away and nothing of a smooth response. hzOfBin is the spacing of bins.
func bandPower(X []complex128, hzOfBin, hz, width float64) float64 {
	const parts = 4
	sum := 0.0
	for p := range parts {
		lo := hz * math.Exp2(width*(float64(p)/parts-0.5))
		hi := hz * math.Exp2(width*(float64(p+1)/parts-0.5))
		sum += square(bandMean(X, hzOfBin, lo, hi))
	}
	return sum / parts
}

// bandMean is the mean of the bins from lo to hi hertz, interpolated where they are narrower than a bin.
func bandMean(X []complex128, hzOfBin, lo, hi float64) complex128 {
	a, b := lo/hzOfBin, hi/hzOfBin
	if b-a < 2 {
		c := (a + b) / 2
		k := int(c)
		if k < 0 || k+1 >= len(X) {
			return 0
		}
		f := complex(c-float64(k), 0)
		return X[k]*(1-f) + X[k+1]*f
	}
	sum, n := complex(0, 0), 0
	for k := int(math.Ceil(a)); k <= int(b) && k < len(X); k++ {
		sum += X[k]
		n++
	}
	if n == 0 {
		return 0
	}
	return sum / complex(float64(n), 0)
}

func square(v complex128) float64 { return real(v)*real(v) + imag(v)*imag(v) }
