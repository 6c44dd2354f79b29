package kinship_test

import (
	"fmt"
	"math"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/kinship"
)

// Three tracks of eight seconds: noise in bursts, the same 2 ms later with its polarity turned, as a second microphone
// on the other side of a drum hears it, and other bursts that have nothing to do with them.
func ExampleRelate() {
	const rate = 48000
	first, other := bursts(1), bursts(2)
	second := make([]float32, len(first))
	for i := range first[:len(first)-96] {
		second[i+96] = -0.5 * first[i]
	}
	relations := kinship.Relate([]kinship.Sketch{sketch(rate, first), sketch(rate, second), sketch(rate, other)})
	for _, r := range relations {
		fmt.Printf("%d and %d: polarity turned: %v, %.1f ms apart, binding: %v\n", r.A, r.B, r.PolarityFlipped, math.Abs(1000*r.LagSeconds), r.Binding())
	}
	// Output: 0 and 1: polarity turned: true, 2.0 ms apart, binding: true
}

// bursts are noises that die away, at times of their own.
func bursts(seed uint64) []float32 {
	rng := rand.New(rand.NewPCG(seed, 1))
	x := make([]float32, 8*48000)
	for start := 0; start < len(x); start += 12000 + rng.IntN(20000) {
		for i := start; i < min(len(x), start+9000); i++ {
			x[i] += float32(0.2 * math.Exp(-float64(i-start)/2000) * rng.NormFloat64())
		}
	}
	return x
}

// sketch feeds a sketcher as a pass over a file does: blocks of samples, and the power of frames.
func sketch(rate int, x []float32) kinship.Sketch {
	s := kinship.NewSketcher(rate, 1)
	for i := 0; i < len(x); i += 4096 {
		s.Write([][]float32{x[i:min(len(x), i+4096)]})
	}
	const size = 4096
	fft, frame, power := fourier.NewFFT(size), make([]float64, size), make([]float32, size/2+1)
	for i := 0; i+size <= len(x); i += size / 2 {
		for k := range frame {
			frame[k] = float64(x[i+k]) * (0.5 - 0.5*math.Cos(2*math.Pi*float64(k)/size))
		}
		for k, c := range fft.Coefficients(nil, frame) {
			power[k] = float32(real(c)*real(c) + imag(c)*imag(c))
		}
		s.Frame(power)
	}
	return s.Sketch()
}
