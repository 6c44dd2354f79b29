package unpack

import (
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
)

// read is all samples of a file.
func read(t *testing.T, path string) [][]float64 {
	t.Helper()
	r, err := wavfile.Open(path)
	require.NoError(t, err)
	defer r.Close()
	out := make([][]float64, r.Info().Channels)
	for c := range out {
		out[c] = make([]float64, r.Info().Frames)
	}
	n, err := r.ReadFloat64(out)
	require.NoError(t, err)
	require.EqualValues(t, r.Info().Frames, n)
	return out
}

// The copy holds the samples that flac, the reference encoder, was given, bit for bit.
func TestTheCopyHoldsTheSamples(t *testing.T) {
	flac, err := exec.LookPath("flac")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("flac is missing")
		}
		t.Skip("flac is missing")
	}
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(1, 2))
	for name, e := range map[string]wavfile.Encoding{"16": wavfile.PCM16, "24": wavfile.PCM24} {
		x := [][]float64{make([]float64, 70001), make([]float64, 70001)}
		for c := range x {
			for i := range x[c] {
				x[c][i] = 2*rng.Float64() - 1
			}
		}
		x[0][0], x[1][0] = 1, -1
		wav := filepath.Join(dir, name+".wav")
		w, err := wavfile.Create(wav, wavfile.Format{SampleRateHz: 48000, Channels: 2, Encoding: e}, false)
		require.NoError(t, err)
		require.NoError(t, w.WriteFloat64(x))
		require.NoError(t, w.Close())
		out, err := exec.Command(flac, "-s", wav).CombinedOutput()
		require.NoError(t, err, string(out))
		packed := filepath.Join(dir, name+".flac")
		plain, done, err := Files(t.Context(), wav, packed)
		require.NoError(t, err)
		assert.Equal(t, wav, plain[0], "nothing to unpack")
		assert.NotEqual(t, packed, plain[1])
		assert.Equal(t, name+".flac", filepath.Base(plain[1]), "the name stays")
		assert.Equal(t, read(t, wav), read(t, plain[1]))
		require.NoError(t, done())
		assert.NoFileExists(t, plain[1])
		assert.FileExists(t, packed)
	}
	_, _, err = Files(t.Context(), filepath.Join(dir, "16.flac"), filepath.Join(dir, "gone.flac"))
	assert.ErrorContains(t, err, "gone.flac")
}
