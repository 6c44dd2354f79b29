package wavfile

import (
	"fmt"
	"os"
	"path/filepath"
	"sync"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Forty files read block by block, several at once, with room for four open ones: every sample is that of its own file.
func TestManyFilesWithFewOpen(t *testing.T) {
	was := opened.most
	opened.most = 4
	t.Cleanup(func() { opened.most = was })
	dir := t.TempDir()
	const frames = 200_000
	var readers [40]*Reader
	for i := range readers {
		path := filepath.Join(dir, fmt.Sprintf("%d.wav", i))
		samples := make([]byte, 2*frames)
		for k := range frames {
			le.PutUint16(samples[2*k:], uint16(k*(i+1)))
		}
		require.NoError(t, os.WriteFile(path, riffFile("RIFF", mono16, dataChunk(samples)), 0o666))
		r, err := Open(path)
		require.NoError(t, err)
		readers[i] = r
	}
	var group sync.WaitGroup
	for lane := range 4 {
		group.Go(func() {
			planes := newPlanes[float32](1, 8192)
			for at := 0; at < frames; {
				n := 0
				for i := lane; i < len(readers); i += 4 {
					var err error
					n, err = readers[i].Read(planes)
					if !assert.NoError(t, err) {
						return
					}
					for k, v := range planes[0][:n] {
						if want := float32(int16(uint16((at+k)*(i+1)))) / 32768; v != want {
							assert.Equal(t, want, v, "file %d, frame %d", i, at+k)
							return
						}
					}
				}
				at += n
			}
		})
	}
	group.Wait()
	for _, r := range readers {
		require.NoError(t, r.Close())
		assert.ErrorIs(t, r.Close(), os.ErrClosed)
	}
}

func TestAFileReplacedWhileItWasClosedIsSaid(t *testing.T) {
	was := opened.most
	opened.most = 1
	t.Cleanup(func() { opened.most = was })
	dir := t.TempDir()
	a, b := filepath.Join(dir, "a.wav"), filepath.Join(dir, "b.wav")
	for _, path := range []string{a, b} {
		require.NoError(t, os.WriteFile(path, riffFile("RIFF", mono16, dataChunk(make([]byte, 1000))), 0o666))
	}
	first, err := Open(a)
	require.NoError(t, err)
	second, err := Open(b) // closes a
	require.NoError(t, err)
	require.NoError(t, os.Rename(a, filepath.Join(dir, "moved.wav")))
	require.NoError(t, os.WriteFile(a, riffFile("RIFF", mono16, dataChunk(make([]byte, 1000))), 0o666))
	_, err = first.Read(newPlanes[float32](1, 10))
	assert.ErrorContains(t, err, "has been replaced")
	require.NoError(t, first.Close())
	require.NoError(t, second.Close())
}
