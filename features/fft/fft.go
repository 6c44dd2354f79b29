// Package fft is the Fourier transform of the measuring pass: complex, forward, of a power-of-two length, in float32.
//
// Two real signals a and b go in as a + ib, so one transform serves two frames or two channels, and what comes out is
// read by the question: the power of both together (Power), of each (Powers), the spectra of each (Spectrum, Spectra), or the
// spectrum of a + ib itself (Bins).
//
// The method is the self-sorting one of Stockham (decimation in frequency): radix 8 throughout, with a last stage of
// 4 or 2 where the length asks for it (C. Van Loan, Computational Frameworks for the Fast Fourier Transform, 1992). The
// window is applied while the first stage loads its input, so no pass over the data is spent on windowing, packing or
// bit reversal.
//
// Rounding adds noise 140 dB below the power of the two signals together, spread over all bins, which is less than
// that of 24-bit samples. Processors of the amd64 family with AVX2 and FMA run vector kernels (made by the program in
// gen), all others, and builds with the tag purego, run plain Go. The two differ by rounding only.
package fft

//go:generate go run ./gen -out kernels_amd64.s -stubs kernels_amd64.go -pkg fft

import "fmt"

// FFT is a transform of one length. It is used by one goroutine at a time.
type FFT struct {
	n      int
	ones   []float32
	engine engine
}

// engine is one of the two ways to do it. The dst of power and powers hold at least n/2 elements; what is written to
// element 0 does not matter.
type engine interface {
	run(a, b, window []float32)
	at(k int) (re, im float32)
	power(dst []float32, add bool)
	powers(a, b []float32)
	spectra(first, stride int, aRe, aIm, bRe, bIm []float32)
}

// MinSize is the shortest length.
const MinSize = 64

// New makes a transform of n points; n is a power of two, at least MinSize.
func New(n int) *FFT {
	checkSize(n)
	if vectors {
		return &FFT{n: n, engine: newVector(n)}
	}
	return &FFT{n: n, engine: newPortable(n)}
}

func checkSize(n int) {
	if n < MinSize || n&(n-1) != 0 {
		panic(fmt.Sprintf("fft: %d points: want a power of two, at least %d", n, MinSize))
	}
}

// Len is the number of points.
func (t *FFT) Len() int { return t.n }

// Transform computes the spectrum of (a + ib) * window, which the other methods then read. The slices hold at least n
// values each; window may be nil for none.
func (t *FFT) Transform(a, b, window []float32) {
	if window == nil {
		window = t.flat()
	}
	t.engine.run(a[:t.n], b[:t.n], window[:t.n])
}

func (t *FFT) flat() []float32 {
	if t.ones == nil {
		t.ones = make([]float32, t.n)
		for i := range t.ones {
			t.ones[i] = 1
		}
	}
	return t.ones
}

// At returns bin k, 0 <= k < n, of the spectrum of a + ib.
func (t *FFT) At(k int) (re, im float32) { return t.engine.at(k) }

// Bins copies the first len(re) bins of the spectrum of a + ib; re and im have equal lengths, n at most.
func (t *FFT) Bins(re, im []float32) {
	im = im[:len(re)]
	for k := range re {
		re[k], im[k] = t.engine.at(k)
	}
}

// Power sets dst[k], or adds to it, to the one-sided power of a and of b together, k = 0..n/2: twice the square of the
// magnitude of a's bin plus twice that of b's, but once at 0 and n/2, which have no mirror image. len(dst) is n/2+1.
func (t *FFT) Power(dst []float32, add bool) {
	first := dst[0]
	t.engine.power(dst, add)
	half := t.n / 2
	r, i := t.At(0)
	u, v := t.At(half)
	if !add {
		first, dst[half] = 0, 0
	}
	dst[0] = first + (r*r + i*i)
	dst[half] += u*u + v*v
}

// Powers sets pa and pb to the one-sided powers of a and of b. Both are n/2+1 long. Rounding of the louder signal
// shows in the quieter one's.
func (t *FFT) Powers(pa, pb []float32) {
	t.engine.powers(pa, pb)
	r, i := t.At(0)
	pa[0], pb[0] = r*r, i*i
	r, i = t.At(t.n / 2)
	pa[t.n/2], pb[t.n/2] = r*r, i*i
}

// Spectrum returns bin k, 0 <= k <= n/2, of the spectra of a and of b.
func (t *FFT) Spectrum(k int) (aRe, aIm, bRe, bIm float32) {
	ur, ui := t.At(k)
	vr, vi := t.At((t.n - k) & (t.n - 1))
	return (ur + vr) / 2, (ui - vi) / 2, (ui + vi) / 2, (vr - ur) / 2
}

// Spectra copies every stride-th bin from bin first on, of the spectra of a and of b, 0 < first; as many as aRe holds, the other
// slices at least that many, the last of them n/2 at most.
func (t *FFT) Spectra(first, stride int, aRe, aIm, bRe, bIm []float32) {
	if first < 1 || stride < 1 || first+(len(aRe)-1)*stride > t.n/2 {
		panic(fmt.Sprintf("fft: %d bins from %d on, every %d: want them within 1 to %d", len(aRe), first, stride, t.n/2))
	}
	n := len(aRe)
	t.engine.spectra(first, stride, aRe, aIm[:n], bRe[:n], bIm[:n])
}
