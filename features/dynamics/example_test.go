package dynamics_test

import (
	"fmt"
	"math"

	"foldout/features/dynamics"
)

// A tone of one second and a second of silence.
func ExampleMeter() {
	const rate = 48000
	x := make([]float32, 2*rate)
	for i := range x[:rate] {
		x[i] = float32(0.5 * math.Sin(2*math.Pi*1000*float64(i)/rate))
	}
	m := dynamics.New(rate, 1)
	m.Write([][]float32{x})
	r := m.Result()
	fmt.Printf("crest %.2f dB, active %.0f %%, silent %v\n", r.CrestDB, 100*r.ActiveShare, r.Silent)
	// Output: crest 3.01 dB, active 50 %, silent false
}

// A sine 18 dB below full scale brings the needle to -18 dB, a little more at the overshoot.
func ExampleVU() {
	v := dynamics.NewVU(48000)
	x := make([]float32, 2*48000)
	for i := range x {
		x[i] = float32(math.Pow(10, -18./20) * math.Sin(2*math.Pi*997*float64(i)/48000))
	}
	v.Write(x)
	fmt.Printf("%.1f dB, at most %.1f dB\n", v.Reading(), v.Max())
	// Output: -18.0 dB, at most -17.9 dB
}
