package align

import (
	"fmt"
	"math"
	"math/cmplx"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"gonum.org/v1/gonum/dsp/fourier"
)

// bandNoise is white noise below a frequency (cycles per sample), periodic in n, so that it can be delayed exactly.
func bandNoise(n int, high float64, seed uint64) []float64 {
	rng := rand.New(rand.NewPCG(seed, 1))
	fft := fourier.NewFFT(n)
	c := make([]complex128, n/2+1)
	for k := 1; k < int(high*float64(n)); k++ {
		c[k] = complex(rng.NormFloat64(), rng.NormFloat64()) / complex(math.Sqrt(float64(n)), 0)
	}
	return fft.Sequence(nil, c)
}

// exactDelay turns the phase of every bin: the delay of a band-limited periodic signal without any approximation.
func exactDelay(x []float64, delay, gain float64) []float64 {
	fft := fourier.NewFFT(len(x))
	c := fft.Coefficients(nil, x)
	for k := range c {
		s, co := math.Sincos(-2 * math.Pi * float64(k) * delay / float64(len(x)))
		c[k] *= complex(gain*co/float64(len(x)), gain*s/float64(len(x)))
	}
	return fft.Sequence(nil, c)
}

// transfer is the transfer function from x to y, bin by bin, up to half the rate, with the frequency of each bin.
func transfer(x, y []float64) (h []complex128, hz []float64) {
	fft := fourier.NewFFT(len(x))
	a, b := fft.Coefficients(nil, x), fft.Coefficients(nil, y)
	for k := 1; k < len(a)-1; k++ {
		if cmplx.Abs(a[k]) > 1e-6 {
			h, hz = append(h, b[k]/a[k]), append(hz, float64(k)/float64(len(x)))
		}
	}
	return h, hz
}

// ones are equal weights.
func ones(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		w[i] = 1
	}
	return w
}

// Values: white noise band-limited to 20 kHz at 48 kHz, gain -0.5 and others, delays 12.3 and -7.75 samples and others;
// the delay made exactly in the spectrum. Expected: the delays themselves, from a guess that is off by a sample.
func TestDelayOfBandLimitedNoise(t *testing.T) {
	x := bandNoise(1<<15, 20.0/48, 1)
	for _, delay := range []float64{12.3, -7.75, 0, 0.01, 1234.567, -4000.4} {
		for _, gain := range []float64{-0.5, 1, 0.01, -100} {
			h, hz := transfer(x, exactDelay(x, delay, gain))
			fit := Slope(h, hz, ones(len(h)), math.Round(delay))
			assert.InDelta(t, delay, fit.Delay, 1e-6, "delay at gain %g", gain)
			assert.Equal(t, gain < 0, fit.Inverted, "gain %g", gain)
			assert.Less(t, fit.Spread, 1e-6)
		}
	}
}

func TestDelayUnderNoise(t *testing.T) {
	x, n := bandNoise(1<<16, 20.0/48, 1), bandNoise(1<<16, 0.5, 2)
	y := exactDelay(x, 100.37, -0.2)
	for i := range y {
		y[i] += 0.06 * n[i] // about 10 dB under
	}
	h, hz := transfer(x, y)
	fit := Slope(h, hz, ones(len(h)), 100)
	assert.InDelta(t, 100.37, fit.Delay, 4*fit.Sigma)
	assert.Less(t, fit.Sigma, 0.01)
	assert.True(t, fit.Inverted)
	assert.Equal(t, 7.0, Slope(h, hz, make([]float64, len(h)), 7).Delay, "nothing has weight")
}

// A filter that bends magnitude and phase moves the delay found by about its own: the one-pole low-pass y += a (x - y)
// has the phase delay (1-a)/a samples at 0 Hz (closed form) and less above.
func TestDelayThroughAFilter(t *testing.T) {
	x := bandNoise(1<<15, 20.0/48, 3)
	y := make([]float64, len(x))
	s := 0.0
	for i, v := range x {
		s += 0.8 * (v - s)
		y[i] = s
	}
	h, hz := transfer(x, exactDelay(y, 10, 1))
	fit := Slope(h, hz, ones(len(h)), 10)
	assert.Greater(t, fit.Delay, 10.0)
	assert.Less(t, fit.Delay, 10.25)
}

// The correlation of band-limited noise with itself, delayed exactly, has its peak at the delay and the sign of the gain.
func TestPeakLiesBetweenTheSamples(t *testing.T) {
	const n = 1 << 12
	x := bandNoise(n, 0.4, 7)
	fft := fourier.NewFFT(n)
	for _, delay := range []float64{500.25, 777.7, 1000} {
		for _, gain := range []float64{1, -0.3} {
			a, b := fft.Coefficients(nil, x), fft.Coefficients(nil, exactDelay(x, delay, gain))
			for k := range a {
				b[k] *= cmplx.Conj(a[k])
			}
			at, value := Peak(fft.Sequence(nil, b))
			assert.InDelta(t, delay, at, 0.002)
			assert.Equal(t, gain < 0, value < 0)
		}
	}
	at, value := Peak(make([]float64, 9))
	assert.Zero(t, at)
	assert.Zero(t, value)
}

// shift returns x later by delay samples.
func shift(x []float64, delay float64) []float64 {
	out := make([]float64, len(x))
	between().Read(out, x, -delay, 1)
	return out
}

func TestShiftIsExactInTheBand(t *testing.T) {
	x := bandNoise(1<<14, 0.44, 4)
	for _, delay := range []float64{0.5, 0.123, -3.77, 20} {
		got, want := shift(x, delay), exactDelay(x, delay, 1)
		var rest, all float64
		for i := 100; i < len(x)-100; i++ {
			rest += (got[i] - want[i]) * (got[i] - want[i])
			all += want[i] * want[i]
		}
		assert.Less(t, 10*math.Log10(rest/all), -85.0, "delay %g", delay)
	}
}

// Residual of a tone against itself a quarter of a sample later is 2 |sin(pi f d / fs)|: -29.70 dB at 1 kHz, -15.73 at
// 5 kHz, -9.74 at 10 kHz, at 48 kHz (closed form).
func TestResidualOfAQuarterSample(t *testing.T) {
	for hz, want := range map[float64]float64{1000: -29.70, 5000: -15.73, 10000: -9.74} {
		x := make([]float64, 9600)
		for i := range x {
			x[i] = math.Sin(2 * math.Pi * hz * float64(i) / 48000)
		}
		y := shift(x, 0.25)
		var rest, all float64
		for i := 100; i < len(x)-100; i++ {
			rest += (x[i] - y[i]) * (x[i] - y[i])
			all += x[i] * x[i]
		}
		assert.InDelta(t, want, 10*math.Log10(rest/all), 0.01, "%g Hz", hz)
	}
}

// 1 ppm is 2.88 samples a minute at 48 kHz (closed form).
func TestDriftAsALine(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 5))
	for _, ppm := range []float64{0, 1, -50, 500} {
		var points []Point
		for i := range 40 {
			at := float64(i) * 48000 * 1.5
			points = append(points, Point{At: at, Delay: 17.25 + ppm*1e-6*at + 0.01*rng.NormFloat64(), Sigma: 0.01})
		}
		points[3].Delay += 500
		points[20].Delay -= 40
		l := FitLine(points, 0.5)
		assert.InDelta(t, ppm, l.PPM, 0.02)
		assert.InDelta(t, 17.25, l.At(0), 0.02)
		assert.Equal(t, 38, l.Kept)
	}
	minute := Line{PPM: 1}
	assert.InDelta(t, 2.88, minute.At(48000*60), 1e-9)
	assert.Equal(t, Line{}, FitLine(nil, 1))
	assert.Zero(t, FitLine([]Point{{At: 5, Delay: 2, Sigma: 1}}, 1).PPM)
}

func TestReadingAtAnotherRate(t *testing.T) {
	x := make([]float64, 44100)
	for i := range x {
		x[i] = math.Sin(2 * math.Pi * 1000 * float64(i) / 44100)
	}
	for _, rate := range []float64{48000, 32000, 96000} {
		step := 44100 / rate
		y := make([]float64, int(rate/2))
		NewInterpolator(32, step).Read(y, x, 4410, step)
		worst := 0.0
		for i, v := range y {
			worst = max(worst, math.Abs(v-math.Sin(2*math.Pi*1000*(0.1+float64(i)/rate))))
		}
		assert.Less(t, worst, 1e-4, "to %g Hz", rate)
	}
}

func ExampleSlope() {
	x := bandNoise(1<<15, 0.4, 9)
	h, hz := transfer(x, exactDelay(x, 3.25, -0.5))
	fit := Slope(h, hz, ones(len(h)), 3)
	fmt.Printf("%.2f samples late, inverted: %v\n", fit.Delay, fit.Inverted)
	// Output: 3.25 samples late, inverted: true
}

func BenchmarkInterpolator(b *testing.B) {
	x := bandNoise(1<<16, 0.4, 9)
	b.SetBytes(int64(8 * len(x)))
	for b.Loop() {
		shift(x, 0.3)
	}
}
