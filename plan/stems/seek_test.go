package stems

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// From any frame on, a sum reads as it does when read from the start; tracks that begin late and end early included.
func TestASumReadFromAnyFrame(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 30000, 0.2)}, track{file: "b.wav", planes: noise(2, 1, 22000, 0.2)})
	s := open(t, sheetOf(dir, []string{"a.wav", "b.wav"}), Options{})
	s.Mixes[0].Tracks[1].Offset = 5000
	whole := summed(t, &s.Mixes[0])
	sum, err := s.Mixes[0].Open()
	require.NoError(t, err)
	defer sum.Close()
	for _, at := range []int64{0, 29999, 1, 4999, 5000, 12345, 27000, 26999, 30000} {
		require.NoError(t, sum.SeekFrame(at))
		dst := [2][]float64{make([]float64, 3000), make([]float64, 3000)}
		n, err := sum.Read(dst)
		if at == 30000 {
			assert.Error(t, err)
			continue
		}
		require.NoError(t, err)
		for side := range dst {
			assert.Equal(t, whole[side][at:int(at)+n], dst[side][:n], "from %d", at)
		}
	}
	assert.Error(t, sum.SeekFrame(-1))
	assert.Error(t, sum.SeekFrame(30001))
}

func TestAMixdownOfAnyTracks(t *testing.T) {
	dir := t.TempDir()
	put(t, dir, track{file: "a.wav", planes: noise(1, 2, 3000, 0.2)}, track{file: "b.wav", planes: noise(2, 1, 3000, 0.2)})
	s := open(t, sheetOf(dir, []string{"a.wav"}, []string{"b.wav"}), Options{})
	m, err := s.Mixdown("both", []string{"a.wav", "b.wav"})
	require.NoError(t, err)
	got, a, b := summed(t, m), summed(t, &s.Mixes[0]), summed(t, &s.Mixes[1])
	for side := range got {
		for i := range got[side] {
			require.InDelta(t, a[side][i]+b[side][i], got[side][i], 1e-12)
		}
	}
	_, err = s.Mixdown("none", []string{"c.wav"})
	assert.ErrorContains(t, err, "c.wav")
}
