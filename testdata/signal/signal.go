// Package signal makes the plain signals of the tests: sines, and a noise that other languages can repeat.
package signal

import "math"

// Sine is n samples of a sine at a sample rate.
func Sine(n int, rate, hz, amplitude float64) []float32 {
	out := make([]float32, n)
	for i := range out {
		out[i] = float32(amplitude * math.Sin(2*math.Pi*hz*float64(i)/rate))
	}
	return out
}

// Noise is white noise, even between -gain and gain, from a linear congruential generator (constants of Numerical
// Recipes), so that the scripts in other languages beside the tests make the same samples.
func Noise(n int, seed uint32, gain float64) []float32 {
	out := make([]float32, n)
	for i := range out {
		seed = 1664525*seed + 1013904223
		out[i] = float32(gain * float64(int32(seed>>8)-1<<23) / (1 << 23))
	}
	return out
}
