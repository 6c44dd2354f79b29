package loudness

import "testing"

const benchRate = 48000

// throughput reports nanoseconds per sample and channel.
func throughput(b *testing.B, samples int) {
	b.Helper()
	b.ReportMetric(float64(b.Elapsed().Nanoseconds())/float64(b.N)/float64(samples), "ns/sample")
}

func benchSignals() map[string][]float32 {
	const n = 10 * benchRate
	return map[string][]float32{
		"music":        musicLike(1, benchRate, n),
		"drums":        drumLike(2, benchRate, n),
		"speech":       speechLike(3, benchRate, n),
		"limitedNoise": whiteNoise(4, n, 1),
		"softNoise":    whiteNoise(5, n, 0.2),
	}
}

func BenchmarkKWeightingMono(b *testing.B) {
	x := pinkNoise(1, benchRate/hopsPerSecond, 0.1)
	f := newKFilter(benchRate)
	for b.Loop() {
		f.sumSquares(x)
	}
	throughput(b, len(x))
}

func BenchmarkKWeightingStretches(b *testing.B) {
	x := pinkNoise(1, benchRate/hopsPerSecond, 0.1)
	f := newKFilter(benchRate)
	table := newKTable(f, len(x))
	for b.Loop() {
		f.sumStretches(x, table)
	}
	throughput(b, len(x))
}

func BenchmarkKWeightingStereo(b *testing.B) {
	x, y := pinkNoise(1, benchRate/hopsPerSecond, 0.1), pinkNoise(2, benchRate/hopsPerSecond, 0.1)
	f, g := newKFilter(benchRate), newKFilter(benchRate)
	for b.Loop() {
		sumSquares2(&f, &g, x, y)
	}
	throughput(b, 2*len(x))
}

func BenchmarkSmooth(b *testing.B) {
	x := whiteNoise(1, blockSize, 0.2)
	for b.Loop() {
		smooth(x, 4)
	}
	throughput(b, len(x))
}

// Block by block from a fresh meter, as in a pass over a track.
func BenchmarkTruePeak(b *testing.B) {
	for name, x := range benchSignals() {
		b.Run(name, func(b *testing.B) {
			for b.Loop() {
				p := NewTruePeak(benchRate, 1)
				for i := 0; i < len(x); i += 8000 {
					p.Write([][]float32{x[i : i+8000]})
				}
			}
			throughput(b, len(x))
		})
	}
}

func BenchmarkInterpolateAll(b *testing.B) {
	var x [blockSize + historySize]float64
	for i, v := range whiteNoise(1, len(x), 0.3) {
		x[i] = float64(v)
	}
	for _, bench := range []struct {
		name string
		run  func(m *mirrored)
		taps []float64
	}{
		{name: "4x", taps: annex2Phases[0][:], run: func(m *mirrored) { m.largest4(&x, blockSize, 0, 100) }},
		{name: "2x", taps: halfBandPhase(), run: func(m *mirrored) { m.largest2(&x, blockSize, 0, 100) }},
	} {
		m := newMirrored(bench.taps)
		b.Run(bench.name, func(b *testing.B) {
			for b.Loop() {
				bench.run(&m)
			}
			throughput(b, blockSize)
		})
	}
}

func BenchmarkMeter(b *testing.B) {
	for name, x := range benchSignals() {
		b.Run(name, func(b *testing.B) {
			block := make([][]float32, 2)
			b.ReportAllocs()
			for b.Loop() {
				m := New(benchRate, 2)
				for i := 0; i < len(x); i += 8000 {
					block[0], block[1] = x[i:i+8000], x[i:i+8000]
					m.Write(block)
				}
				m.Result()
			}
			throughput(b, 2*len(x))
		})
	}
}
