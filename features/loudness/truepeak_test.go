package loudness

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// bruteForce interpolates every window with the same arithmetic and no bounds.
func bruteForce(rate int, x []float32) float64 {
	p := NewTruePeak(rate, 1)
	wide := make([]float64, len(x)+2*historySize)
	peak := 0.0
	for i, v := range x {
		wide[historySize+i] = float64(v)
		peak = max(peak, math.Abs(float64(v)))
	}
	for i := range p.phases {
		for end := historySize; end < len(wide); end++ {
			w := wide[end-p.taps+1 : end+1]
			if p.taps == halfBandTaps {
				peak = max(peak, p.phases[i].magnitude2((*[halfBandTaps]float64)(w)))
			} else {
				peak = max(peak, p.phases[i].magnitude4((*[12]float64)(w)))
			}
		}
	}
	return peak
}

func testSignals(rate, n int) map[string][]float32 {
	rising := whiteNoise(9, n, 0.3)
	impulses := make([]float32, n)
	for i := range rising {
		rising[i] *= float32(i) / float32(n)
	}
	for i := 5; i < n; i += 997 {
		impulses[i] = float32(i) / float32(n)
	}
	return map[string][]float32{
		"music":         musicLike(1, rate, n),
		"drums":         drumLike(2, rate, n),
		"speech":        speechLike(3, rate, n),
		"pink noise":    pinkNoise(4, n, 0.1),
		"white noise":   whiteNoise(5, n, 0.1),
		"limited noise": whiteNoise(6, n, 1.5),
		"rising noise":  rising,
		"impulses":      impulses,
		"low sine":      tones(rate, 60, tone{float64(n) / float64(rate), -1}),
		"high sine":     tones(rate, 31*rate/100, tone{float64(n) / float64(rate), -1}),
	}
}

func TestBoundsSkipNothingThatCounts(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		for name, x := range testSignals(rate, rate) {
			t.Run(fmt.Sprintf("%s at %d", name, rate), func(t *testing.T) {
				p := NewTruePeak(rate, 1)
				p.Write([][]float32{x})
				assert.Equal(t, bruteForce(rate, x), p.TruePeak())
				require.GreaterOrEqual(t, p.TruePeak(), p.SamplePeak())
			})
		}
	}
}
