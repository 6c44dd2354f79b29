package kinship

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

// All sounds here are invented: seeded notes with partials, and bursts of noise.

const testRate = 48000

// notes plays seconds of a seeded tune on a plucked sound; key moves it in semitones, feel shifts each note by up to
// 15 ms and detunes it a little, so that another feel is another performance.
func notes(seconds float64, rate int, tune, feel uint64) []float32 {
	r, q := rand.New(rand.NewPCG(tune, 1)), rand.New(rand.NewPCG(feel, 2))
	out := make([]float32, int(seconds*float64(rate)))
	scale := []float64{0, 2, 4, 7, 9}
	for beat := 0.0; beat < seconds; beat += 0.25 {
		midi := 45 + 12*float64(r.IntN(3)) + scale[r.IntN(len(scale))]
		loud := 0.3 + 0.7*r.Float64()
		rest := r.Float64() < 0.3
		at := beat + 0.015*q.Float64()
		f := 440 * math.Pow(2, (midi-69+0.05*q.NormFloat64())/12)
		phase := 2 * math.Pi * q.Float64()
		if rest {
			continue
		}
		start := int(at * float64(rate))
		for h := 1.0; h <= 8; h++ {
			// exp(-(4+h) t) sin(2 pi f h t + h phase), sample by sample
			turn := cmplx.Exp(complex(-(4+h), 2*math.Pi*f*h) / complex(float64(rate), 0))
			v := cmplx.Rect(loud*0.1/h, h*phase)
			for i := start; i < min(len(out), start+rate); i++ {
				out[i] += float32(imag(v) * min(1, float64(i-start)/float64(rate)/0.004))
				v *= turn
			}
		}
	}
	return out
}

// hits plays noise bursts on every beat listed (in beats of a bar of four, 0.5 s each), every burst another noise.
func hits(seconds float64, rate int, seed uint64, beats ...float64) []float32 {
	r := rand.New(rand.NewPCG(seed, 3))
	out := make([]float32, int(seconds*float64(rate)))
	for bar := 0.0; bar < seconds; bar += 2 {
		for _, b := range beats {
			start := int((bar + b/2) * float64(rate))
			low := 0.0
			for i := start; i < min(len(out), start+rate/4); i++ {
				t := float64(i-start) / float64(rate)
				low += 0.15 * (r.NormFloat64() - low)
				out[i] += float32(0.5 * low * math.Exp(-25*t))
			}
		}
	}
	return out
}

func whiteNoise(n int, seed uint64, level float64) []float32 {
	r := rand.New(rand.NewPCG(seed, 4))
	out := make([]float32, n)
	for i := range out {
		out[i] = float32(level * r.NormFloat64())
	}
	return out
}

func gain(x []float32, k float64) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = float32(k) * v
	}
	return out
}

func delayed(x []float32, samples int) []float32 {
	out := make([]float32, len(x))
	copy(out[min(samples, len(x)):], x)
	return out
}

func sum(parts ...[]float32) []float32 {
	out := make([]float32, len(parts[0]))
	for _, p := range parts {
		for i, v := range p {
			out[i] += v
		}
	}
	return out
}

// filtered is a first-order shelf: below f as it is, above multiplied by k.
func filtered(x []float32, rate int, f, k float64) []float32 {
	out := make([]float32, len(x))
	a := math.Exp(-2 * math.Pi * f / float64(rate))
	low := 0.0
	for i, v := range x {
		low = a*low + (1-a)*float64(v)
		out[i] = float32(low + k*(float64(v)-low))
	}
	return out
}

// squeezed is a feed-forward compressor, 8:1 above the threshold, followed by soft clipping.
func squeezed(x []float32, rate int, threshold float64) []float32 {
	out := make([]float32, len(x))
	env := 0.0
	up, down := math.Exp(-1/(0.002*float64(rate))), math.Exp(-1/(0.1*float64(rate)))
	for i, v := range x {
		a := math.Abs(float64(v))
		k := down
		if a > env {
			k = up
		}
		env = k*env + (1-k)*a
		g := 1.0
		if env > threshold {
			g = math.Pow(threshold/env, 7.0/8)
		}
		out[i] = float32(0.5 * math.Tanh(2*float64(v)*g/threshold*0.3))
	}
	return out
}

// hall is reverberation only: sparse random reflections (400 a second) dying away 60 dB in t60 seconds, 20 ms late.
func hall(x []float32, rate int, t60 float64, seed uint64) []float32 {
	r := rand.New(rand.NewPCG(seed, 5))
	out := make([]float32, len(x))
	for t := 0.02; t < t60; t += 2 * r.Float64() / 400 {
		g := float32(math.Pow(10, -3*t/t60) * 0.1)
		if r.IntN(2) == 0 {
			g = -g
		}
		at := int(t * float64(rate))
		for i := at; i < len(x); i++ {
			out[i] += g * x[i-at]
		}
	}
	return out
}

// sketchOf runs a sketcher over planes and their frame stream.
func sketchOf(rate int, start int64, planes ...[]float32) Sketch {
	s := NewSketcher(rate, len(planes))
	s.SetTimeReference(start)
	n := len(planes[0])
	block := make([][]float32, len(planes))
	for i := 0; i < n; i += 4096 {
		for c, p := range planes {
			block[c] = p[i:min(n, i+4096)]
		}
		s.Write(block)
	}
	size := frameSize(rate)
	fft := fourier.NewFFT(size)
	x := make([]float64, size)
	spectrum := make([]float32, size/2+1)
	var bins []complex128
	for at := 0; at+size <= n; at += size / 2 {
		clear(spectrum)
		for _, p := range planes {
			for i := range x {
				x[i] = float64(p[at+i]) * (0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/float64(size)))
			}
			bins = fft.Coefficients(bins, x)
			for k, v := range bins {
				e := 2 * (real(v)*real(v) + imag(v)*imag(v)) / (0.375 * float64(size) * float64(size))
				spectrum[k] += float32(e / float64(len(planes)))
			}
		}
		s.Frame(spectrum)
	}
	return s.Sketch()
}

func frameSize(rate int) int {
	size := 4096
	for r := rate; r > 50000; r /= 2 {
		size *= 2
	}
	for r := rate; r < 25000 && size > 64; r *= 2 {
		size /= 2
	}
	return size
}
