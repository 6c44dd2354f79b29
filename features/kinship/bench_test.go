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

// BenchmarkCompare96 takes 96 invented tracks of 4 minutes, a third of them sums of two of the others.
func BenchmarkCompare96(b *testing.B) {
	const rate, seconds = 8000, 240
	var tracks [][]float32
	base := map[int][]float32{}
	for i := range 64 {
		if i%3 == 0 {
			tracks = append(tracks, hits(seconds, rate, uint64(i), float64(i%4), float64(i%8)/2))
		} else {
			if base[i%11] == nil {
				base[i%11] = notes(seconds, rate, uint64(i), uint64(i))
			}
			tracks = append(tracks, delayed(base[i%11], 3*rate*(i/11)))
		}
	}
	for i := range 32 {
		tracks = append(tracks, sum(gain(tracks[i], 0.5), gain(delayed(tracks[(i+7)%32], 20), 0.2)))
	}
	set := make([]Sketch, len(tracks))
	for i, x := range tracks {
		set[i] = sketchOf(rate, 0, x)
	}
	b.ReportAllocs()
	for b.Loop() {
		c := Compare(set)
		c.Relations()
	}
}
