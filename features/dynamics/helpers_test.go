package dynamics

import (
	"math"
	"math/rand/v2"

	"foldout/features/fft"
)

// framer makes the frames that a Meter expects.
type framer struct {
	n      int
	fft    *fft.FFT
	window []float32
}

func newFramer(rate, channels int) *framer {
	n := frameLength(rate)
	f := &framer{n: n, fft: fft.New(n), window: make([]float32, n)}
	for i := range f.window { // the sum of the squares of a Hann window is 3/8 of its length
		f.window[i] = float32((0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(n))) / math.Sqrt(float64(channels)*float64(n)*float64(n)*3/8))
	}
	return f
}

// frames calls m.Frame for the whole signal.
func (f *framer) frames(m *Meter, signal [][]float32) {
	power, silence := make([]float32, f.n/2+1), make([]float32, f.n)
	for start := 0; len(signal) > 0 && start+f.n <= len(signal[0]); start += f.n / 2 {
		for c, plane := range signal {
			f.fft.Transform(plane[start:start+f.n], silence, f.window)
			f.fft.Power(power, c > 0)
		}
		m.Frame(power)
	}
}

// analyse feeds one signal in blocks of the given length, and its frames.
func analyse(rate, block int, signal ...[]float32) Result {
	m := New(rate, len(signal))
	newFramer(rate, len(signal)).frames(m, signal)
	return write(m, block, signal)
}

// envelope is analyse without the frames: all but tonality and the number of onsets.
func envelope(rate, block int, signal ...[]float32) Result {
	return write(New(rate, len(signal)), block, signal)
}

func write(m *Meter, block int, signal [][]float32) Result {
	part := make([][]float32, len(signal))
	for i := 0; len(signal) > 0 && i < len(signal[0]); i += block {
		for c := range signal {
			part[c] = signal[c][i:min(i+block, len(signal[c]))]
		}
		m.Write(part)
	}
	return m.Result()
}

// sampled makes seconds of f(t).
func sampled(rate int, seconds float64, f func(t float64) float64) []float32 {
	x := make([]float32, int(math.Round(seconds*float64(rate))))
	for i := range x {
		x[i] = float32(f(float64(i) / float64(rate)))
	}
	return x
}

func sine(rate int, seconds, hz, amplitude float64) []float32 {
	return sampled(rate, seconds, func(t float64) float64 { return amplitude * math.Sin(2*math.Pi*hz*t) })
}

func noise(rate int, seconds, rms float64, seed uint64) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	return sampled(rate, seconds, func(float64) float64 { return rms * r.NormFloat64() })
}

// hits makes notes that start at multiples of period and fall by 20 dB in fall seconds.
func hits(rate int, seconds, period, hz, fall, amplitude float64) []float32 {
	return sampled(rate, seconds, func(t float64) float64 {
		u := math.Mod(t+1e-9, period)
		return amplitude * math.Pow(10, -u/fall) * math.Sin(2*math.Pi*hz*u+0.5)
	})
}

// clicks are single samples.
func clicks(rate int, seconds, period float64) []float32 {
	x := make([]float32, int(seconds*float64(rate)))
	for t := period / 2; t < seconds; t += period {
		x[int(t*float64(rate))] = 0.5
	}
	return x
}

func scaled(x []float32, gain float32) []float32 {
	y := make([]float32, len(x))
	for i, v := range x {
		y[i] = gain * v
	}
	return y
}

func joined(parts ...[]float32) []float32 {
	var x []float32
	for _, p := range parts {
		x = append(x, p...)
	}
	return x
}
