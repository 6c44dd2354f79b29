package spectrum

import (
	"fmt"
	"math/rand/v2"
	"testing"
)

func randomSignal(n int, seed uint64) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float32, n)
	for i := range x {
		x[i] = float32(r.NormFloat64())
	}
	return x
}

func BenchmarkStream(b *testing.B) {
	for _, channels := range []int{1, 2} {
		b.Run(fmt.Sprintf("%d channels", channels), func(b *testing.B) {
			planes := make([][]float32, channels)
			for c := range planes {
				planes[c] = randomSignal(48000, uint64(c))
			}
			s := NewStream(48000, channels, New(48000, channels))
			b.ReportAllocs()
			for b.Loop() {
				s.Write(planes)
			}
			b.ReportMetric(float64(b.Elapsed().Microseconds())/float64(s.frames)/float64(channels), "us/frame")
		})
	}
}
