package dynamics

import (
	"testing"

	"foldout/features/vec"
)

// The meters share 60 channels of 4 min with all others: at most 2 ns a sample and channel and 2 us a frame here.

func benchmarkWrite(b *testing.B, channels int, signal []float32) {
	m := New(rate48, channels)
	block := make([][]float32, channels)
	for c := range block {
		block[c] = signal
	}
	b.ReportAllocs()
	for b.Loop() {
		m.Write(block)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*channels*len(signal)), "ns/sample")
}

func BenchmarkWriteMono(b *testing.B)   { benchmarkWrite(b, 1, noise(rate48, 0.5, 0.1, 1)) }
func BenchmarkWriteStereo(b *testing.B) { benchmarkWrite(b, 2, noise(rate48, 0.5, 0.1, 1)) }
func BenchmarkWriteNotes(b *testing.B)  { benchmarkWrite(b, 1, hits(rate48, 1, 0.1, 200, 0.1, 0.5)) }
func BenchmarkWriteClipped(b *testing.B) {
	x := sine(rate48, 0.5, 100, 10)
	for i := range x {
		x[i] = min(max(x[i], -0.9), 0.9)
	}
	benchmarkWrite(b, 1, x)
}

func BenchmarkMeasure(b *testing.B) {
	x := noise(rate48, 0.001, 0.1, 1)
	cells := make([]vec.Cell, 1)
	for b.Loop() {
		measure(cells, x, len(x))
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/sample")
}

func BenchmarkVU(b *testing.B) {
	x := noise(rate48, 0.5, 0.1, 1)
	v := NewVU(rate48)
	b.ReportAllocs()
	for b.Loop() {
		v.Write(x)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N*len(x)), "ns/sample")
}

func spectrum() []float32 {
	x := noise(rate48, 0.1, 1, 1)[:2049]
	for i := range x {
		x[i] *= x[i] / float32(i+1)
	}
	return x
}

func BenchmarkFrame(b *testing.B) {
	x := spectrum()
	m := New(rate48, 1)
	b.ReportAllocs()
	for b.Loop() {
		m.Frame(x)
	}
}

func BenchmarkFlux(b *testing.B) {
	x := spectrum()
	m := New(rate48, 1)
	for b.Loop() {
		m.flux.frame(x)
	}
}

func BenchmarkTonality(b *testing.B) {
	x := spectrum()
	m := New(rate48, 1)
	for b.Loop() {
		m.tonality.frame(x)
	}
}

func BenchmarkResult(b *testing.B) {
	for b.Loop() {
		m := New(rate48, 2)
		m.Result()
	}
}

func BenchmarkWriteLimitedNoise(b *testing.B) {
	x := noise(rate48, 0.5, 0.7, 1)
	for i := range x {
		x[i] = min(max(x[i], -0.9), 0.9)
	}
	benchmarkWrite(b, 1, x)
}
