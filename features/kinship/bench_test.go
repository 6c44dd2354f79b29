package kinship

import (
	"math/rand/v2"
	"testing"
)

func BenchmarkSketcherWriteMono(b *testing.B)   { benchmarkWrite(b, 1) }
func BenchmarkSketcherWriteStereo(b *testing.B) { benchmarkWrite(b, 2) }

func benchmarkWrite(b *testing.B, channels int) {
	r := rand.New(rand.NewPCG(1, 2))
	block := make([][]float32, channels)
	for c := range block {
		block[c] = make([]float32, 4096)
		for i := range block[c] {
			block[c][i] = float32(r.NormFloat64()) * 0.1
		}
	}
	s := NewSketcher(48000, channels)
	b.ReportAllocs()
	for b.Loop() {
		s.Write(block)
	}
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/4096/float64(channels), "ns/sample")
}

func BenchmarkSketcherFrame(b *testing.B) {
	s := NewSketcher(48000, 1)
	p := make([]float32, 2049)
	for i := range p {
		p[i] = 1e-6
	}
	b.ReportAllocs()
	for b.Loop() {
		s.Frame(p)
	}
}
