package wavfile

import (
	"io"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestSeekGoesToAnyFrame(t *testing.T) {
	const frames = 100_000 // several blocks of the reader
	path := filepath.Join(t.TempDir(), "ramp.wav")
	w, err := Create(path, Format{SampleRateHz: 48000, Channels: 2, Encoding: Float32}, false)
	require.NoError(t, err)
	ramp := [][]float32{make([]float32, frames), make([]float32, frames)}
	for i := range ramp[0] {
		ramp[0][i], ramp[1][i] = float32(i), -float32(i)
	}
	require.NoError(t, w.Write(ramp))
	require.NoError(t, w.Close())

	r, err := Open(path)
	require.NoError(t, err)
	defer r.Close()
	block := [][]float32{make([]float32, 7), make([]float32, 7)}
	for _, at := range []int64{0, 5, 99_990, 3, 50_000, 49_999, 0, frames - 7} {
		require.NoError(t, r.SeekFrame(at))
		n, err := r.Read(block)
		require.NoError(t, err)
		require.Equal(t, 7, n)
		assert.Equal(t, float32(at), block[0][0])
		assert.Equal(t, -float32(at+6), block[1][6])
		n, err = r.Read(block) // and goes on from there
		if at == frames-7 {
			assert.ErrorIs(t, err, io.EOF)
			continue
		}
		require.NoError(t, err)
		require.Positive(t, n)
		assert.Equal(t, float32(at+7), block[0][0])
	}
	require.NoError(t, r.SeekFrame(frames))
	_, err = r.Read(block)
	assert.ErrorIs(t, err, io.EOF)
	assert.ErrorContains(t, r.SeekFrame(-1), "no frame -1")
	assert.ErrorContains(t, r.SeekFrame(frames+1), path)
}
