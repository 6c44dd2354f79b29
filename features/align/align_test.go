package align

import (
	"fmt"
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
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

// Values: white noise band-limited to 20 kHz at 48 kHz, gain -0.5, delays 12.3 and -7.75 samples; the delay made exactly
// in the spectrum. Expected: the delays themselves.
func TestDelayOfBandLimitedNoise(t *testing.T) {
	x := bandNoise(1<<15, 20.0/48, 1)
	for _, delay := range []float64{12.3, -7.75, 0, 0.01, 1234.567, -4000.4} {
		for _, gain := range []float64{-0.5, 1, 0.01, -100} {
			m := Find(x, exactDelay(x, delay, gain), Options{})
			require.True(t, m.Found(), "%g %g: %+v", delay, gain, m)
			assert.InDelta(t, delay, m.Delay, 0.002, "delay at gain %g", gain)
			assert.InDelta(t, gain, m.Gain, 0.02*math.Abs(gain))
		}
	}
}

func TestDelayUnderNoise(t *testing.T) {
	x, n := bandNoise(1<<16, 20.0/48, 1), bandNoise(1<<16, 0.5, 2)
	y := exactDelay(x, 100.37, -0.2)
	for i := range y {
		y[i] += 0.06 * n[i] // about 10 dB under
	}
	m := Find(x, y, Options{})
	assert.InDelta(t, 100.37, m.Delay, 0.01)
	assert.Negative(t, m.Gain)
	assert.Less(t, m.Coherence, 0.97)
	assert.False(t, Find(x, n, Options{}).Found(), "unrelated noise is no match")
	assert.Equal(t, Match{}, Find(x, make([]float64, 1000), Options{}), "silence is no match")
	assert.Equal(t, Match{}, Find(nil, x, Options{}))
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
	m := Find(x, exactDelay(y, 10, 1), Options{})
	assert.Greater(t, m.Delay, 10.0)
	assert.Less(t, m.Delay, 10.25)
	assert.Greater(t, m.Coherence, 0.98)
}

func TestShiftIsExactInTheBand(t *testing.T) {
	x := bandNoise(1<<14, 0.44, 4)
	for _, delay := range []float64{0.5, 0.123, -3.77, 20} {
		got, want := Shift(x, delay), exactDelay(x, delay, 1)
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
		y := Shift(x, 0.25)
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

func TestCorrelateAgainstTheSum(t *testing.T) {
	x, y := []float64{1, 2, -1}, []float64{0, 0, 1, 2, -1, 3}
	r, zero := Correlate(x, y)
	for lag := -2; lag <= 5; lag++ {
		want := 0.0
		for i, v := range x {
			if k := i + lag; k >= 0 && k < len(y) {
				want += v * y[k]
			}
		}
		assert.InDelta(t, want, r[zero+lag], 1e-12, "lag %d", lag)
	}
}

func ExampleFind() {
	x := bandNoise(1<<15, 0.4, 9)
	y := exactDelay(x, 3.25, -0.5)
	m := Find(x, y, Options{})
	fmt.Printf("%.2f samples late, gain %.2f\n", m.Delay, m.Gain)
	// Output: 3.25 samples late, gain -0.50
}

func BenchmarkShift(b *testing.B) {
	x := bandNoise(1<<16, 0.4, 9)
	b.SetBytes(int64(8 * len(x)))
	for b.Loop() {
		Shift(x, 0.3)
	}
}
