package printcheck

import (
	"context"
	"math"

	"golang.org/x/sync/errgroup"

	"foldout/features/fft"
	"foldout/features/resample"
)

// Anchors: short stretches of the mix whose place in the print is measured to a fraction of a sample, by generalized
// cross-correlation with a weight near the phase transform (Knapp and Carter 1976). Both sides of the mix are correlated
// with both sides of the print and the squares added, so swapped sides and turned polarity do not matter.
const (
	anchorSize  = 1 << 15 // transform, at up to 50 kHz
	anchorReach = 2048    // how far from the expected place the print is searched, either way
	whitening   = 0.8     // of the spectra: 1 is the phase transform, 0 plain correlation
	clarity     = 14.0    // peak over mean of the squared correlation: unrelated music stays below 9 (see the tests)
)

// anchor is one measured place.
type anchor struct {
	mix   float64 // frame in the middle of the stretch
	late  float64 // frames of the mix's clock by which the print lies behind the line it was sought along
	clear float64 // peak over mean
	// gains are the whitened 2 x 2 covariances at the peak: mix with mix (LL, LR, RR), print with mix (LL, LR, RL, RR;
	// print's side first).
	mm [3]float64
	pm [4]float64
}

func (a anchor) found() bool { return a.clear >= clarity }

// finder measures anchors.
type finder struct {
	*pairReader
	t          *fft.FFT
	size       int
	reach      int
	low, high  int // bins in use
	x, y       [2][]float32
	mx, my     [2]spectrum // spectra of the sides
	cross      [2]spectrum // packed cross-spectra
	score      []float64
	weights    []float64 // of the lines low..high
	taper      []float32
	blockFrame int
}

// scaleOf is 1 up to 50 kHz, 2 up to 100 kHz and so on: lengths in samples grow with the rate.
func scaleOf(rate int) int {
	s := 1
	for limit := 50000; rate > limit; limit *= 2 {
		s *= 2
	}
	return s
}

func newFinder(p *pairReader) *finder {
	scale := scaleOf(p.mix.rate)
	f := &finder{pairReader: p, size: anchorSize * scale, reach: anchorReach * scale}
	f.blockFrame = f.size - 2*f.reach
	f.t = fft.New(f.size)
	top := min(float64(p.mix.rate), float64(p.print.rate))
	f.low = int(40 * float64(f.size) / float64(p.mix.rate))
	f.high = int(math.Min(16000, 0.42*top) * float64(f.size) / float64(p.mix.rate))
	for c := range f.x {
		f.x[c], f.y[c] = make([]float32, f.size), make([]float32, f.size)
		f.mx[c], f.my[c] = newSpectrum(f.size/2+1), newSpectrum(f.size/2+1)
		f.cross[c] = newSpectrum(f.size)
	}
	f.score = make([]float64, 2*f.reach+1)
	f.weights = make([]float64, f.high-f.low)
	f.taper = make([]float32, f.blockFrame)
	edge := f.blockFrame / 8
	for i := range f.taper {
		f.taper[i] = 1
		if d := min(i, f.blockFrame-1-i); d < edge {
			f.taper[i] = float32(0.5 - 0.5*math.Cos(math.Pi*(float64(d)+0.5)/float64(edge)))
		}
	}
	return f
}

// find looks along the line for the stretch of the mix that begins at frame start.
func (f *finder) find(start int64, l line) (anchor, error) {
	n := f.blockFrame
	a := anchor{mix: float64(start) + float64(n)/2}
	for c := range f.x {
		clear(f.x[c][n:])
	}
	if err := f.readMix(start, [2][]float32{f.x[0][:n], f.x[1][:n]}); err != nil {
		return a, err
	}
	energy := float32(0)
	for c := range f.x {
		for i, w := range f.taper {
			f.x[c][i] *= w
			energy += f.x[c][i] * f.x[c][i]
		}
	}
	if energy == 0 {
		return a, nil
	}
	whole := l
	if math.Abs(l.step-1)*float64(n) < 0.5 { // not worth resampling; the place is kept to the frame
		middle := l.at(a.mix)
		whole = line{offset: math.Round(middle - a.mix), step: 1}
	}
	if err := f.readPrint(start-int64(f.reach), whole, f.y); err != nil {
		return a, err
	}
	f.transform()
	f.correlate()
	best, mean := f.peak()
	if mean == 0 {
		return a, nil
	}
	a.clear = f.score[best] / mean
	a.late = float64(best-f.reach) + parabola(f.score, best)
	f.covary(&a, float64(best-f.reach))
	// What rounding to whole frames did is part of how late the print is.
	a.late += (whole.at(a.mix) - l.at(a.mix)) / l.step
	return a, nil
}

func (f *finder) transform() {
	f.t.Transform(f.x[0], f.x[1], nil)
	split(f.t, f.mx)
	f.t.Transform(f.y[0], f.y[1], nil)
	split(f.t, f.my)
}

// split takes the spectra of two real signals, lines 0 to half the length, out of a transform.
func split(t *fft.FFT, s [2]spectrum) {
	s[0].re[0], s[0].im[0], s[1].re[0], s[1].im[0] = t.Spectrum(0)
	t.Spectra(1, 1, s[0].re[1:], s[0].im[1:], s[1].re[1:], s[1].im[1:])
}

func power(s spectrum, k int) float32 { return s.re[k]*s.re[k] + s.im[k]*s.im[k] }

// whiten is p to the power -whitening/2 to one part in ten thousand, from a table of powers of two and one of what is left.
func whiten(p float32) float32 {
	bits := math.Float32bits(p)
	return whitenExponent[bits>>23] * whitenMantissa[bits>>12&(1<<11-1)]
}

var whitenExponent, whitenMantissa = func() (exponent [256]float32, mantissa [1 << 11]float32) {
	for i := range exponent {
		exponent[i] = float32(math.Pow(2, -whitening/2*float64(i-127)))
	}
	for i := range mantissa {
		mantissa[i] = float32(math.Pow(1+(float64(i)+0.5)/(1<<11), -whitening/2))
	}
	return exponent, mantissa
}()

// weigh sets the weight of every line: 0 where one of the two lies 110 dB below its loudest line.
func (f *finder) weigh() {
	var topX, topY float32
	for k := f.low; k < f.high; k++ {
		topX = max(topX, power(f.mx[0], k)+power(f.mx[1], k))
		topY = max(topY, power(f.my[0], k)+power(f.my[1], k))
	}
	for i := range f.weights {
		k := f.low + i
		px, py := power(f.mx[0], k)+power(f.mx[1], k), power(f.my[0], k)+power(f.my[1], k)
		f.weights[i] = 0
		if px > topX*1e-11 && py > topY*1e-11 {
			f.weights[i] = float64(whiten(px)) * float64(whiten(py))
		}
	}
}

// correlate fills score with the sum of the squares of the four correlations.
func (f *finder) correlate() {
	f.weigh()
	for c := range f.cross {
		clear(f.cross[c].re)
		clear(f.cross[c].im)
	}
	for k := f.low; k < f.high; k++ {
		w := float32(f.weights[k-f.low])
		if w == 0 {
			continue
		}
		for i := range f.cross { // side of the mix: its correlations with both sides of the print, packed
			ar, ai := f.mx[i].re[k]*w, f.mx[i].im[k]*w
			pr, pi := ar*f.my[0].re[k]+ai*f.my[0].im[k], ar*f.my[0].im[k]-ai*f.my[0].re[k]
			qr, qi := ar*f.my[1].re[k]+ai*f.my[1].im[k], ar*f.my[1].im[k]-ai*f.my[1].re[k]
			f.cross[i].re[k], f.cross[i].im[k] = pr-qi, pi+qr
			f.cross[i].re[f.size-k], f.cross[i].im[f.size-k] = pr+qi, qr-pi
		}
	}
	clear(f.score)
	for i := range f.cross {
		f.t.Transform(f.cross[i].im, f.cross[i].re, nil)
		for lag := range f.score {
			a, b := f.t.At(lag)
			f.score[lag] += float64(a)*float64(a) + float64(b)*float64(b)
		}
	}
}

// peak returns the lag of the highest score and the mean of all.
func (f *finder) peak() (best int, mean float64) {
	for lag, v := range f.score {
		mean += v
		if v > f.score[best] {
			best = lag
		}
	}
	return best, mean / float64(len(f.score))
}

// parabola returns where between its neighbours the peak at i lies, -0.5..0.5. It errs by up to 0.11 of a sample, which
// later steps mend.
func parabola(y []float64, i int) float64 {
	if i == 0 || i == len(y)-1 {
		return 0
	}
	d := y[i-1] - 2*y[i] + y[i+1]
	if d == 0 {
		return 0
	}
	return (y[i-1] - y[i+1]) / (2 * d)
}

// covary fills the whitened covariances, the print taken back by lag.
func (f *finder) covary(a *anchor, lag float64) {
	turn := 2 * math.Pi * (lag + float64(f.reach)) / float64(f.size)
	for k := f.low; k < f.high; k++ {
		w := f.weights[k-f.low]
		if w == 0 {
			continue
		}
		s, c := math.Sincos(turn * float64(k))
		dot := func(p, q spectrum) float64 {
			return w * float64(p.re[k]*q.re[k]+p.im[k]*q.im[k])
		}
		late := func(p, q spectrum) float64 { // real part of print * conj(mix) * exp(i turn k)
			re := float64(p.re[k]*q.re[k] + p.im[k]*q.im[k])
			im := float64(p.im[k]*q.re[k] - p.re[k]*q.im[k])
			return w * (re*c - im*s)
		}
		a.mm[0] += dot(f.mx[0], f.mx[0])
		a.mm[1] += dot(f.mx[0], f.mx[1])
		a.mm[2] += dot(f.mx[1], f.mx[1])
		for i := range 2 {
			for j := range 2 {
				a.pm[2*i+j] += late(f.my[i], f.mx[j])
			}
		}
	}
}

// survey measures anchors that begin at the given frames, along the line, two at a time.
func survey(ctx context.Context, mix, print string, k *resample.Kernel, starts []int64, l func(int64) line) ([]anchor, error) {
	all := make([]anchor, len(starts))
	group, ctx := errgroup.WithContext(ctx)
	const workers = 2
	for w := range workers {
		group.Go(func() error {
			p, err := openPair(mix, print, k)
			if err != nil {
				return err
			}
			defer p.close() //nolint:errcheck // opened for reading
			f := newFinder(p)
			for i := w; i < len(starts); i += workers {
				if err := ctx.Err(); err != nil {
					return err
				}
				if all[i], err = f.find(starts[i], l(starts[i])); err != nil {
					return err
				}
			}
			return nil
		})
	}
	return all, group.Wait()
}
