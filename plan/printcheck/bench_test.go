package printcheck

import (
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
)

// BenchmarkCompare5Minutes compares five minutes of stereo at 48 kHz with a print that saturates and hisses, 613 samples
// late. Read the clock of the whole process with: time foldout compare MIX PRINT.
func BenchmarkCompare5Minutes(b *testing.B) {
	const rate, minutes = 48000, 5
	dir := b.TempDir()
	paths := [2]string{filepath.Join(dir, "mix.wav"), filepath.Join(dir, "print.wav")}
	var out [2]*wavfile.Writer
	for n, p := range paths {
		w, err := wavfile.Create(p, wavfile.Format{SampleRateHz: rate, Channels: 2, Encoding: wavfile.PCM24}, false)
		require.NoError(b, err)
		out[n] = w
	}
	rng := rand.New(rand.NewPCG(1, 2))
	require.NoError(b, out[1].WriteFloat64([][]float64{make([]float64, 613), make([]float64, 613)}))
	for second := range 60 * minutes {
		var x, y [2][]float64
		for c := range x {
			x[c], y[c] = make([]float64, rate), make([]float64, rate)
		}
		for i := range rate {
			t := float64(second*rate+i) / rate
			e := 0.05 * (0.3 + math.Exp(-math.Mod(t, 0.5)/0.12))
			m, d, low := e*rng.NormFloat64(), 0.4*e*rng.NormFloat64(), 2*e*math.Sin(2*math.Pi*70*t)
			x[0][i], x[1][i] = m+d+low, m-d+low
			for c := range y {
				y[c][i] = 0.9*math.Tanh(1.1*x[c][i])/1.1 + 1e-4*rng.NormFloat64()
			}
		}
		require.NoError(b, out[0].WriteFloat64(x[:]))
		require.NoError(b, out[1].WriteFloat64(y[:]))
	}
	for _, w := range out {
		require.NoError(b, w.Close())
	}
	b.ReportAllocs()
	for b.Loop() {
		r, err := Compare(b.Context(), paths[0], paths[1], Options{})
		require.NoError(b, err)
		require.InDelta(b, 613, r.DelaySamples, 0.1)
	}
}
