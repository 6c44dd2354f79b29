package trace

import (
	"context"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/linecheck/simulate"
)

// BenchmarkTrace16 traces sixteen outputs, full length: 3:16 of stereo.
func BenchmarkTrace16(b *testing.B) {
	p := planOf(8, 48000)
	p.Quick = false
	p.Frames = p.Program().Frames
	path := record(b, p, simulate.Chain{Latency: 1234.25, NoiseDBFS: -95, CrosstalkDB: -80}, 0.5, wavfile.PCM24)
	b.ReportAllocs()
	for b.Loop() {
		_, err := Trace(context.Background(), path, p, Options{})
		require.NoError(b, err)
	}
}
