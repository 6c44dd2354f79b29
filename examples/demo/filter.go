package demo

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// biquad is a second-order section in transposed direct form II. The designs are those of Bristow-Johnson's audio
// equaliser cookbook (W3C Note, 2021).
type biquad struct{ b0, b1, b2, a1, a2, s1, s2 float64 }

func (f *biquad) step(x float64) float64 {
	y := f.b0*x + f.s1
	f.s1 = f.b1*x - f.a1*y + f.s2
	f.s2 = f.b2*x - f.a2*y
	return y
}

// through filters x in place with each section in turn.
func through(x []float64, sections ...biquad) {
	for _, f := range sections {
		for i, v := range x {
			x[i] = f.step(v)
		}
	}
}

func section(b0, b1, b2, a0, a1, a2 float64) biquad {
	return biquad{b0: b0 / a0, b1: b1 / a0, b2: b2 / a0, a1: a1 / a0, a2: a2 / a0}
}

func angle(hz, q float64) (cos, alpha float64) {
	sin, cos := math.Sincos(2 * math.Pi * math.Min(hz, 0.49*rate) / rate)
	return cos, sin / (2 * q)
}

func lowPass(hz, q float64) biquad {
	c, a := angle(hz, q)
	return section((1-c)/2, 1-c, (1-c)/2, 1+a, -2*c, 1-a)
}

func highPass(hz, q float64) biquad {
	c, a := angle(hz, q)
	return section((1+c)/2, -1-c, (1+c)/2, 1+a, -2*c, 1-a)
}

// bandPass has a gain of 1 at its centre.
func bandPass(hz, q float64) biquad {
	c, a := angle(hz, q)
	return section(a, 0, -a, 1+a, -2*c, 1-a)
}

func bell(hz, db, q float64) biquad {
	c, a := angle(hz, q)
	g := math.Pow(10, db/40)
	return section(1+a*g, -2*c, 1-a*g, 1+a/g, -2*c, 1-a/g)
}

func highShelf(hz, db float64) biquad {
	c, a := angle(hz, math.Sqrt2/2)
	g := math.Pow(10, db/40)
	s := 2 * math.Sqrt(g) * a
	return section(g*(g+1+(g-1)*c+s), -2*g*(g-1+(g+1)*c), g*(g+1+(g-1)*c-s), g+1-(g-1)*c+s, 2*(g-1-(g+1)*c), g+1-(g-1)*c-s)
}

// convolve returns x filtered with an impulse response, cut to the length of x (overlap-add).
func convolve(x, response []float64) []float64 {
	size := 4096
	for size < 4*len(response) {
		size *= 2
	}
	fft := fourier.NewFFT(size)
	frame := make([]float64, size)
	copy(frame, response)
	filter := fft.Coefficients(nil, frame)
	spectrum := make([]complex128, len(filter))
	out := make([]float64, len(x))
	step := size - len(response) + 1
	for at := 0; at < len(x); at += step {
		n := copy(frame, x[at:min(at+step, len(x))])
		clear(frame[n:])
		fft.Coefficients(spectrum, frame)
		for i := range spectrum {
			spectrum[i] *= filter[i]
		}
		fft.Sequence(frame, spectrum)
		mixInto(out, frame, at, 1/float64(size))
	}
	return out
}
