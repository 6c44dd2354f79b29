// Package intermod computes how much a colouring channel adds to the material that passes through it: harmonics and,
// above all, intermodulation between the tracks that share the channel.
//
// In go the long-term octave-band levels of the tracks of one pair; out comes, in decibels relative to the energy of
// the pair's material, what a generic soft non-linearity puts outside the bands the material itself fills. The channel is
//
//	y = x + a2 x^2 + a3 x^3
//
// with x = 1 at the peak of a sine at the operating level, and a2, a3 such that this sine gets SecondDB of second and
// ThirdDB of third harmonic (a sine of amplitude A has a2 A^2/2 of second and a3 A^3/4 of third; two tones of amplitude A
// have a2 A^2 at f2 +- f1 and (3/4) a3 A^3 at 2 f1 - f2; textbook expansion of the power series). It stands for no unit in
// particular: figures are for comparing folds of one session, not for predicting a device.
//
// The material is made, not recorded: each track is a sum of sines with pseudo-random phases whose power in each octave
// band is that measured (Gaussian-like by the central limit theorem; the same every time). The sum of the tracks is
// brought to the operating level before it passes, as an engineer would, so that the gain of the pair does not matter and
// that of a single track matters only by its share.
package intermod

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

// The generic channel: a mild valve or transformer stage driven at its operating level (chosen, no source).
const (
	SecondDB = -50.0
	ThirdDB  = -56.0
)

// The grid on which material is made: products of third order of material up to 20 kHz reach 60 kHz and fold back no
// lower than 36 kHz, so what is measured up to 20 kHz is free of aliases.
const (
	rateHz  = 96000
	samples = 1 << 15
	topHz   = 20000
	binHz   = float64(rateHz) / samples
)

// Coefficients returns a2 and a3 for given levels of second and third harmonic, in dB re the fundamental, of a sine of
// amplitude 1. The third is of opposite sign to the fundamental: the channel is soft.
func Coefficients(secondDB, thirdDB float64) (a2, a3 float64) {
	return 2 * math.Pow(10, secondDB/20), -4 * math.Pow(10, thirdDB/20)
}

// Channel is the polynomial y = x + A2 x^2 + A3 x^3.
type Channel struct{ A2, A3 float64 }

// Generic is the channel of the package comment.
func Generic() Channel {
	a2, a3 := Coefficients(SecondDB, ThirdDB)
	return Channel{a2, a3}
}

// Added returns what the channel adds to x: A2 x^2 + A3 x^3.
func (c Channel) Added(x float64) float64 { return x * x * (c.A2 + c.A3*x) }

// Spectrum returns the power of each line of a signal of any even length: index k is the power (mean square) at k cycles
// per length; index 0 is that of the mean. A sine of amplitude A with a whole number of cycles has A^2/2.
func Spectrum(x []float64) []float64 {
	n := len(x)
	out := make([]float64, n/2+1)
	for k, c := range fourier.NewFFT(n).Coefficients(nil, x) {
		p := (real(c)*real(c) + imag(c)*imag(c)) / float64(n) / float64(n)
		if k > 0 && 2*k < n {
			p *= 2
		}
		out[k] = p
	}
	return out
}
