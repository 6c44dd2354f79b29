// Package resample reads a sampled signal at places between its samples and at any speed.
//
// The signal is taken to be band-limited: a value between samples is the sum of its neighbours under a sinc, cut off by
// a Kaiser window (J. O. Smith, Digital Audio Resampling, 2002; J. F. Kaiser, 1974). Tests hold it to sines: the error
// is below -74 dB up to 0.41 of the sampling rate and below -80 dB up to 0.1 of it. When the output has the lower rate, the
// slope of its low-pass is as wide in input samples as before, so less of the output's band is flat.
package resample

import "math"

const (
	taps   = 32 // samples that take part in one value
	Before = taps/2 - 1
	After  = taps / 2

	phaseBits = 14
	phases    = 1 << phaseBits // places between two samples that have a row of their own; the nearest is taken

	beta = 8 // of the Kaiser window: side lobes 82 dB down

	// Where the slope of the low-pass has its middle, as a share of half the lower sampling rate. When the output's rate is
	// not lower nothing folds, and the slope may lie across the end of the band.
	cutoffUp   = 1.0
	cutoffDown = 0.94
)

// Kernel reads at one speed. It is made once and may be used by several goroutines.
type Kernel struct {
	step   float64
	cutoff float64   // of the low-pass, in half input rates
	rows   []float32 // (phases + 1) rows of taps
}

// New makes a kernel for a step between outputs, in input samples: 1.0005 for a tape that runs 500 ppm fast, 44100./48000
// to bring 44.1 kHz to 48 kHz. A step above 1 low-passes below half the output's rate. The step must be positive.
func New(step float64) *Kernel {
	f := cutoff(step)
	k := &Kernel{step: step, cutoff: f, rows: make([]float32, (phases+1)*taps)}
	window := kaiser()
	half := float64(taps) / 2
	for p := 0; p <= phases/2; p++ {
		frac := float64(p) / phases
		row := k.rows[p*taps:][:taps]
		var values [taps]float64
		var sum float64
		for i := range row {
			t := float64(i-Before) - frac // distance from the place to the sample
			v := f
			if a := math.Pi * f * t; a != 0 {
				v *= math.Sin(a) / a
			}
			values[i] = v * window(t/half)
			sum += values[i]
		}
		mirror := k.rows[(phases-p)*taps:][:taps]
		for i, v := range values {
			row[i] = float32(v / sum) // the gain at 0 Hz is exactly 1 at every place
			mirror[taps-1-i] = row[i]
		}
	}
	return k
}

func cutoff(step float64) float64 {
	if step > 1.01 {
		return cutoffDown / step
	}
	return cutoffUp
}

// WithStep is New(step), at no cost where the low-pass stays the same to one part in a thousand.
func (k *Kernel) WithStep(step float64) *Kernel {
	if math.Abs(cutoff(step)-k.cutoff) > 1e-3*k.cutoff {
		return New(step)
	}
	return &Kernel{step: step, cutoff: k.cutoff, rows: k.rows}
}

// Step is the step between outputs, in input samples.
func (k *Kernel) Step() float64 { return k.step }

// kaiser returns the window as a function of -1..1, read from a fine table.
func kaiser() func(float64) float64 {
	const n = 4096
	table := make([]float64, n+2)
	for i := range table {
		x := math.Min(1, float64(i)/n)
		table[i] = bessel(beta*math.Sqrt(1-x*x)) / bessel(beta)
	}
	return func(x float64) float64 {
		x = math.Min(1, math.Abs(x)) * n
		i := int(x)
		return table[i] + (x-float64(i))*(table[i+1]-table[i])
	}
}

// bessel is the modified Bessel function of the first kind and order 0, by its series.
func bessel(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= x / (2 * k) * x / (2 * k)
		sum += term
	}
	return sum
}

// Span tells which samples n outputs from place pos on need: first index and number.
func (k *Kernel) Span(pos float64, n int) (first int64, length int) {
	first = int64(math.Floor(pos)) - Before
	last := int64(math.Floor(pos+float64(n-1)*k.step)) + After + 1
	return first, int(last-first) + 1
}

// Read sets dst[c][i] to channel c of src at the place pos + i*step, where src[c][0] is sample number first as Span gave
// it. All planes of src have the length that Span gave, all planes of dst one length.
func (k *Kernel) Read(dst, src [][]float32, pos float64, first int64) {
	start := pos - float64(first)
	for c, out := range dst {
		x := src[c]
		for i := range out {
			p := start + float64(i)*k.step
			whole := int(p)
			phase := int((p-float64(whole))*phases + 0.5)
			row := (*[taps]float32)(k.rows[phase*taps:])
			in := (*[taps]float32)(x[whole-Before:])
			var a, b, c, d float32
			for j := 0; j < taps; j += 4 {
				a += row[j] * in[j]
				b += row[j+1] * in[j+1]
				c += row[j+2] * in[j+2]
				d += row[j+3] * in[j+3]
			}
			out[i] = (a + b) + (c + d)
		}
	}
}
