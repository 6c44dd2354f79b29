// Package channel is a stand-in for one colouring channel of a summing unit: a soft non-linearity without memory,
//
//	y = x + A2 x^2 + A3 x^3
//
// with x = 1 at the peak of a sine at the operating level. It stands for no unit in particular; it serves to hear and to
// compute what tracks do to one another in a channel.
package channel

import "math"

// Harmonics of the generic channel, in dB re the fundamental of a sine at the operating level: a mild valve or
// transformer stage (chosen, no source; 0.3 % and 0.16 %).
const (
	SecondDB = -50.0
	ThirdDB  = -56.0
)

// Channel is the polynomial y = x + A2 x^2 + A3 x^3.
type Channel struct{ A2, A3 float64 }

// Of returns the channel that gives a sine of amplitude 1 a second and a third harmonic of the given levels, in dB re the
// fundamental. A sine of amplitude A has A2 A^2/2 of second and A3 A^3/4 of third (expansion of the power series). The
// third is of opposite sign to the fundamental: the channel is soft.
func Of(secondDB, thirdDB float64) Channel {
	return Channel{A2: 2 * math.Pow(10, secondDB/20), A3: -4 * math.Pow(10, thirdDB/20)}
}

// Generic is the channel of the constants.
func Generic() Channel { return Of(SecondDB, ThirdDB) }

// Added returns what the channel adds to x: A2 x^2 + A3 x^3.
func (c Channel) Added(x float64) float64 { return x * x * (c.A2 + c.A3*x) }
