package wavfile

import (
	"io/fs"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestCreateRefuses(t *testing.T) {
	dir := t.TempDir()
	good := Format{SampleRateHz: 48000, Channels: 1, Encoding: PCM24}
	change := func(f func(*Format)) Format { c := good; f(&c); return c }
	for _, c := range []struct {
		name, path string
		f          Format
		want       string
	}{
		{"no channels", "a.wav", change(func(f *Format) { f.Channels = 0 }), "0 channels"},
		{"65 channels", "a.wav", change(func(f *Format) { f.Channels = 65 }), "65 channels"},
		{"rate", "a.wav", change(func(f *Format) { f.SampleRateHz = 0 }), "sample rate of 0 Hz"},
		{"encoding", "a.wav", change(func(f *Format) { f.Encoding = 3 }), "unknown encoding"},
		{"time", "a.wav", change(func(f *Format) { f.Bext = &Bext{TimeReference: -1} }), "before midnight"},
		{"history", "a.wav", change(func(f *Format) { f.Bext = &Bext{CodingHistory: strings.Repeat("x", 1<<20)} }), "coding history"},
		{"folder", ".", good, "is a folder"},
		{"missing folder", "missing/a.wav", good, "no such"},
	} {
		t.Run(c.name, func(t *testing.T) {
			if c.name == "missing folder" && runtime.GOOS == "windows" {
				c.want = "cannot find"
			}
			w, err := Create(filepath.Join(dir, c.path), c.f, true)
			require.Nil(t, w)
			assert.ErrorContains(t, err, c.want)
			assert.ErrorContains(t, err, filepath.Join(dir, c.path))
		})
	}
	assert.Empty(t, names(t, dir))
}

func names(t *testing.T, dir string) []string {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var all []string
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

// TestNothingIsReplacedUnasked follows a name through all ways it can be taken.
func TestNothingIsReplacedUnasked(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "mix.wav")
	f := Format{SampleRateHz: 48000, Channels: 1, Encoding: PCM16}

	w, err := Create(path, f, false)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte("came in between"), 0o666))
	require.ErrorIs(t, w.Close(), fs.ErrExist)
	assert.Equal(t, []string{"mix.wav"}, names(t, dir), "temporary file gone")
	kept, err := os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "came in between", string(kept))

	_, err = Create(path, f, false)
	assert.ErrorIs(t, err, fs.ErrExist)
	assert.ErrorContains(t, err, path)

	w, err = Create(path, f, true)
	require.NoError(t, err)
	kept, err = os.ReadFile(path)
	require.NoError(t, err)
	assert.Equal(t, "came in between", string(kept), "until Close")
	require.NoError(t, w.Write([][]float32{{0.5}}))
	require.NoError(t, w.Abort())
	assert.Equal(t, []string{"mix.wav"}, names(t, dir))
	assert.ErrorIs(t, w.Close(), fs.ErrClosed)
	assert.ErrorIs(t, w.Write([][]float32{{0.5}}), fs.ErrClosed)

	w, err = Create(path, f, true)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{{0.5}}))
	require.NoError(t, w.Close())
	r, err := Open(path)
	require.NoError(t, err)
	assert.Equal(t, []float64{0.5}, readAll(t, r, 1))
	require.NoError(t, r.Close())
	assert.Equal(t, []string{"mix.wav"}, names(t, dir))
}

// TestUnicodeNames writes and reads names in several scripts, composed and decomposed.
func TestUnicodeNames(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "Aufnahme – Überkopf")
	require.NoError(t, os.Mkdir(dir, 0o777))
	for _, name := range []string{"Große Trommel.wav", "U\u0308berkopf L.wav", "スネア 上.wav", "Бас-гитара.wav", "🎸 lead.wav", "' quote & space .wav",
		strings.Repeat("ü", 125) + ".wav"} { // 254 bytes, near the limit of common file systems
		path := filepath.Join(dir, name)
		writeFile(t, path, Format{SampleRateHz: 48000, Channels: 1, Encoding: PCM24}, [][]float32{{0.5}}, 1)
		r, err := Open(path)
		require.NoError(t, err)
		assert.Equal(t, path, r.Info().Path)
		assert.Equal(t, []float64{0.5}, readAll(t, r, 1))
		require.NoError(t, r.Close())
	}
}
