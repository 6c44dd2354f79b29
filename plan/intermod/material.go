package intermod

import (
	"math"
	"math/cmplx"
	"math/rand/v2"

	"gonum.org/v1/gonum/dsp/fourier"
)

// Octave is one band of a track's long-term spectrum.
type Octave struct {
	LowHz, HighHz float64
	Power         float64 // mean square, any unit common to all tracks
}

// Material is the stand-in for one track.
type Material struct {
	wave  []float64
	power [thirds]float64 // in third-octave bands
}

// Power is the material's mean square.
func (m *Material) Power() float64 {
	var s float64
	for _, v := range m.wave {
		s += v * v
	}
	return s / samples
}

// Make makes material with the given power in each band, flat within a band, by sines on a grid of 2.9 Hz with
// pseudo-random phases. The seed tells tracks apart; the same seed and bands give the same material. Bands without
// power, and parts above 20 kHz, are left out; nil is returned for a track without any.
func Make(bands []Octave, seed uint64) *Material {
	rng := rand.New(rand.NewPCG(seed, 0x666f6c64))
	coefficients := make([]complex128, samples/2+1)
	m := &Material{}
	sounding := false
	for _, b := range bands {
		low := max(1, int(math.Ceil(b.LowHz/binHz)))
		high := int(math.Ceil(math.Min(b.HighHz, topHz) / binHz))
		if high <= low || !(b.Power > 0) || math.IsInf(b.Power, 0) {
			continue
		}
		sounding = true
		amplitude := math.Sqrt(2*b.Power/float64(high-low)) / 2 // of the line at +f and at -f
		for k := low; k < high; k++ {
			coefficients[k] = cmplx.Rect(amplitude, 2*math.Pi*rng.Float64())
			m.power[thirdOf(k)] += b.Power / float64(high-low)
		}
	}
	if !sounding {
		return nil
	}
	m.wave = fourier.NewFFT(samples).Sequence(nil, coefficients)
	return m
}

// Third-octave bands of IEC 61260-1 (base ten), 25 Hz to 20 kHz.
const (
	firstThird = -16 // of 1 kHz: 25 Hz
	lastThird  = 13  // 20 kHz
	thirds     = lastThird - firstThird + 1
)

// thirdOf returns the band of a line of the grid; the lowest and highest take what lies beyond.
func thirdOf(k int) int {
	x := int(math.Round(10 * math.Log10(float64(k)*binHz/1000)))
	return min(max(x-firstThird, 0), thirds-1)
}

var thirdTable = func() []int {
	t := make([]int, topHz*samples/rateHz+1)
	for k := 1; k < len(t); k++ {
		t[k] = thirdOf(k)
	}
	return t
}()
