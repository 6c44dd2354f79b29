package loudness_test

import (
	"fmt"
	"math"

	"foldout/features/loudness"
)

// Measure ten seconds of a 997 Hz sine at -20 dBFS in both channels, block by block.
func Example() {
	const rate = 48000
	meter := loudness.New(rate, 2)
	block := [][]float32{make([]float32, 1024), make([]float32, 1024)}
	for start := 0; start < 10*rate; start += 1024 {
		for i := range block[0] {
			v := float32(0.1 * math.Sin(2*math.Pi*997*float64(start+i)/rate))
			block[0][i], block[1][i] = v, v
		}
		meter.Write(block)
	}
	r := meter.Result()
	fmt.Printf("integrated %.1f LUFS, range %.1f LU, momentary %.1f LUFS, sample peak %.1f dBFS\n",
		r.IntegratedLUFS, r.LoudnessRangeLU, r.MaxMomentaryLUFS, r.SamplePeakDBFS)
	// Output: integrated -20.0 LUFS, range 0.0 LU, momentary -20.0 LUFS, sample peak -20.0 dBFS
}

// A sine at a quarter of the sample rate whose samples all miss the crest by 45 degrees: the samples stay 3 dB below
// what a converter will put out.
func ExampleTruePeak() {
	const rate = 48000
	peak := loudness.NewTruePeak(rate, 1)
	x := make([]float32, rate)
	for i := range x {
		fade := min(1, float64(i)/480, float64(rate-1-i)/480)
		x[i] = float32(0.5 * fade * math.Sin(math.Pi/2*float64(i)+math.Pi/4))
	}
	peak.Write([][]float32{x})
	fmt.Printf("samples %.2f dBFS, true peak %.2f dBTP\n", 20*math.Log10(peak.SamplePeak()), 20*math.Log10(peak.TruePeak()))
	// Output: samples -9.03 dBFS, true peak -5.98 dBTP
}
