package features

import (
	"context"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/kinship"
	"foldout/features/wavfile"
)

// One performance in two files, one of which lacks its first 2.2 seconds: told so, the two are kin as if nothing was missing,
// and what is kept of one start is not taken for another.
func TestFilesThatBeginLate(t *testing.T) {
	const missing = 105601
	x := noise(12*48000, 1, 0.1)
	a, b := settledFile(t, "a.wav", x), settledFile(t, "b.wav", x[missing:])
	c := testCache(t)
	relate := func(starts map[string]int64) ([]kinship.Relation, *Analysis) {
		results, err := MeasureAll(context.Background(), []string{a, b}, Options{WithSketch: true, Cache: c, Starts: starts})
		require.NoError(t, err)
		require.NoError(t, results[0].Err)
		require.NoError(t, results[1].Err)
		return Relate([]*Analysis{results[0].Analysis, results[1].Analysis}), results[1].Analysis
	}
	for range 2 { // measured, then from the cache
		found, _ := relate(nil)
		assert.Empty(t, found)
		found, late := relate(map[string]int64{b: missing})
		require.Len(t, found, 1)
		assert.True(t, found[0].Kind == kinship.Identical || found[0].Kind == kinship.Copy, found[0].Kind)
		assert.InDelta(t, 0, found[0].LagSeconds, 1e-4)
		assert.EqualValues(t, missing, late.Profile.TimeReference)
	}
}

// Where the waveforms of a sketch are gone from the cache, the file is measured again from the start that it has.
func TestALateFileMeasuredAgain(t *testing.T) {
	const missing = 105601
	x := noise(12*48000, 1, 0.1)
	b := settledFile(t, "b.wav", x[missing:])
	c := testCache(t)
	measured := func() kinship.Sketch {
		results, err := MeasureAll(context.Background(), []string{b}, Options{WithSketch: true, Cache: c, Starts: map[string]int64{b: missing}})
		require.NoError(t, err)
		require.NoError(t, results[0].Err)
		return results[0].Analysis.Whole()
	}
	first := measured()
	gone, err := filepath.Glob(filepath.Join(c.Dir(), "*"+wavesSuffix))
	require.NoError(t, err)
	require.Len(t, gone, 1)
	require.NoError(t, os.Remove(gone[0]))
	assert.Equal(t, first, measured())
}

// Starts are counted from the earliest of the files that carry a time reference; those that carry none begin there.
func TestStartsBesideTimeReferences(t *testing.T) {
	dir := t.TempDir()
	put := func(name string, rate int, ref int64) string {
		path := filepath.Join(dir, name)
		f := wavfile.Format{SampleRateHz: rate, Channels: 1, Encoding: wavfile.PCM24}
		if ref > 0 {
			f.Bext = &wavfile.Bext{TimeReference: ref}
		}
		w, err := wavfile.Create(path, f, false)
		require.NoError(t, err)
		require.NoError(t, w.Write([][]float32{make([]float32, 100)}))
		require.NoError(t, w.Close())
		setAge(t, path, time.Minute)
		return path
	}
	plain, late, first, second := put("plain.wav", 48000, 0), put("late.wav", 48000, 0), put("first.wav", 48000, 480000), put("second.wav", 44100, 882000)
	other := filepath.Join(dir, "gone.wav")
	all := []string{plain, late, first, second, other}
	assert.Nil(t, Starts(all, nil))
	assert.Equal(t, map[string]int64{late: 480007, plain: 480000}, Starts(all, map[string]int64{late: 7}))
	assert.Equal(t, map[string]int64{late: 7}, Starts([]string{plain, late}, map[string]int64{late: 7}))
	assert.Equal(t, map[string]int64{first: 3 + 20*48000, plain: 20 * 48000, late: 20 * 48000}, Starts(all, map[string]int64{first: 3}), "its own reference does not count")
}
