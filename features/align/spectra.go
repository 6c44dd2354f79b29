package align

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Spectra holds averaged spectra of two signals, bins 0..n/2 of frames of n samples (Welch 1967: Hann window, half
// overlap).
type Spectra struct {
	N      int          // length of a frame
	Frames int          // averaged
	XX, YY []float64    // power
	XY     []complex128 // conj(X) Y
}

// CrossSpectra averages the spectra of x against y, of which y starts lag samples later, over frames of n samples (a
// power of two). Where they do not meet for one frame, Frames is 0.
func CrossSpectra(x, y []float64, lag, n int) *Spectra {
	s := &Spectra{N: n, XX: make([]float64, n/2+1), YY: make([]float64, n/2+1), XY: make([]complex128, n/2+1)}
	fft := fourier.NewFFT(n)
	window := make([]float64, n)
	for i := range window {
		window[i] = 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))
	}
	a, b := make([]float64, n), make([]float64, n)
	var A, B []complex128
	for start := max(0, -lag); start+n <= len(x) && start+lag+n <= len(y); start += n / 2 {
		for i, w := range window {
			a[i], b[i] = w*x[start+i], w*y[start+lag+i]
		}
		A, B = fft.Coefficients(A, a), fft.Coefficients(B, b)
		for k := range A {
			s.XX[k] += real(A[k])*real(A[k]) + imag(A[k])*imag(A[k])
			s.YY[k] += real(B[k])*real(B[k]) + imag(B[k])*imag(B[k])
			s.XY[k] += cmplx.Conj(A[k]) * B[k]
		}
		s.Frames++
	}
	return s
}

// Coherence is |XY|^2 / (XX YY) of a bin, 0 (nothing in common) to 1 (y is x, filtered). Of a single frame it is 1
// whatever the signals are.
func (s *Spectra) Coherence(k int) float64 {
	if d := s.XX[k] * s.YY[k]; d > 0 {
		return min(1, (real(s.XY[k])*real(s.XY[k])+imag(s.XY[k])*imag(s.XY[k]))/d)
	}
	return 0
}

// Transfer is the best linear filter from x to y at a bin, XY / XX; 0 where x is silent.
func (s *Spectra) Transfer(k int) complex128 {
	if s.XX[k] == 0 {
		return 0
	}
	return s.XY[k] / complex(s.XX[k], 0)
}
