package demo

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"
)

const tableSize = 2048

// waveTable holds one period of a wave at several band limits, so that no partial lies above half the sample rate.
type waveTable [][]float64 // by half octaves of the fundamental from 30 Hz up

// newWaveTable makes the band-limited versions of one period of tableSize samples.
func newWaveTable(period []float64) waveTable {
	fft := fourier.NewFFT(tableSize)
	full := fft.Coefficients(nil, period)
	var t waveTable
	for hz := 30 * math.Sqrt2; hz < 3000; hz *= math.Sqrt2 {
		limited := make([]complex128, len(full))
		copy(limited[1:min(len(full), int(0.46*rate/hz))], full[1:])
		x := fft.Sequence(nil, limited)
		scale(x, 1.0/tableSize)
		t = append(t, append(x, x[0]))
	}
	return t
}

// forPitch returns the table for a fundamental; read reads it at a phase of 0..1.
func (t waveTable) forPitch(hz float64) []float64 {
	i := int(math.Max(0, 2*math.Log2(hz/30)))
	return t[min(i, len(t)-1)]
}

func read(table []float64, phase float64) float64 {
	p := phase * tableSize
	i := int(p)
	f := p - float64(i)
	return table[i] + f*(table[i+1]-table[i])
}

// glottalPulse is the derivative of the flow through the vocal folds after Klatt and Klatt (JASA 87, 1990): a cubic
// while they are open, nothing while they are closed. openQuotient is the open share of the period.
func glottalPulse(openQuotient float64) waveTable {
	x := make([]float64, tableSize)
	for i := range x {
		t := float64(i) / tableSize / openQuotient
		if t < 1 {
			x[i] = 2*t - 3*t*t
		}
	}
	return newWaveTable(x)
}

// saw is a falling ramp.
func saw() waveTable {
	x := make([]float64, tableSize)
	for i := range x {
		x[i] = 1 - 2*float64(i)/tableSize
	}
	return newWaveTable(x)
}
