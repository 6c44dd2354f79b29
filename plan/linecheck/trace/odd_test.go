package trace

import (
	"context"
	"io"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/linecheck/simulate"
	"foldout/testdata/underrace"
)

// What is odd about a return is said in one sentence, and what to do about it.
func TestOddReturnsAreSaid(t *testing.T) {
	underrace.Skip(t)
	p := planOf(1, 48000)
	r, err := wavfile.Open(record(t, p, simulate.Chain{Latency: 1500, NoiseDBFS: -90}, 0.5, wavfile.Float32))
	require.NoError(t, err)
	defer r.Close() //nolint:errcheck // opened for reading
	whole := [][]float64{make([]float64, r.Info().Frames), make([]float64, r.Info().Frames)}
	if _, err := r.ReadFloat64(whole); err != io.EOF {
		require.NoError(t, err)
	}
	loud := make([][]float64, 2)
	for c, x := range whole {
		for _, v := range x {
			loud[c] = append(loud[c], 16*v)
		}
	}
	half := len(whole[0]) / 2
	for _, c := range []struct {
		name, severity, said, todo string
		format                     wavfile.Encoding
		rate                       int
		planes                     [][]float64
	}{
		{"mono", Fault, "The return has one channel", "Record the return to a stereo track", wavfile.PCM24, 48000, whole[:1]},
		{"labelled with another rate", Note, "The file says 44.1 kHz but plays like 48 kHz", "export at the rate of the tones", wavfile.PCM24, 44100, whole},
		{"clipped", Fault, "The return clips", "record again", wavfile.PCM24, 48000, loud},
		{"louder than full scale", Warning, "The return goes beyond full scale", "turn the return down", wavfile.Float32, 48000, loud},
		{"swapped", Fault, "arrives on the right and should come from the left", "swapped on the way", wavfile.PCM24, 48000, [][]float64{whole[1], whole[0]}},
		{"half recorded", Warning, "The recording stops", "Let it run until after the last chirp", wavfile.PCM24, 48000, [][]float64{whole[0][:half], whole[1][:half]}},
	} {
		path := filepath.Join(t.TempDir(), "return.wav")
		w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: c.rate, Channels: len(c.planes), Encoding: c.format}, false)
		require.NoError(t, err)
		require.NoError(t, w.WriteFloat64(c.planes))
		require.NoError(t, w.Close())
		got, err := Trace(context.Background(), path, p, Options{})
		require.NoError(t, err, c.name)
		found := 0
		for _, v := range got.Verdicts {
			if v.Severity == c.severity && strings.Contains(v.Text, c.said) && strings.Contains(v.Text, c.todo) {
				found++
			}
		}
		assert.Equal(t, 1, found, "%s: %q", c.name, texts(got))
	}
}
