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
)

// related measures the files with a cache and compares them.
func related(t *testing.T, c *Cache, paths ...string) []kinship.Relation {
	t.Helper()
	results, err := MeasureAll(context.Background(), paths, Options{WithSketch: true, Cache: c})
	require.NoError(t, err)
	tracks := make([]*Analysis, len(results))
	for i, r := range results {
		require.NoError(t, r.Err)
		tracks[i] = r.Analysis
	}
	return Relate(tracks)
}

func kinFiles(t *testing.T, c *Cache) []string {
	t.Helper()
	files, err := filepath.Glob(filepath.Join(c.Dir(), "*"+kinSuffix))
	require.NoError(t, err)
	return files
}

func TestRelationsAreKeptForUnchangedTracks(t *testing.T) {
	c := testCache(t)
	a, b, other := settledFile(t, "a.wav", noise(4*48000, 1, 0.1)), settledFile(t, "b.wav", noise(4*48000, 1, 0.1)), settledFile(t, "other.wav", noise(4*48000, 2, 0.1))
	first := related(t, c, a, b, other)
	require.Len(t, first, 1)
	assert.Equal(t, kinship.Identical, first[0].Kind)
	require.Len(t, kinFiles(t, c), 1)
	assert.Equal(t, first, related(t, c, a, b, other))
	require.Len(t, kinFiles(t, c), 1)

	t.Run("what is kept is what is returned", func(t *testing.T) {
		require.NoError(t, os.WriteFile(kinFiles(t, c)[0], []byte("damaged"), 0o600))
		assert.Equal(t, first, related(t, c, a, b, other), "a damaged entry is compared anew")
	})
	t.Run("another order is another set", func(t *testing.T) {
		again := related(t, c, other, a, b)
		require.Len(t, again, 1)
		assert.ElementsMatch(t, []int{1, 2}, []int{again[0].A, again[0].B})
		assert.Len(t, kinFiles(t, c), 2)
	})
	t.Run("a changed track is compared anew", func(t *testing.T) {
		require.NoError(t, os.Remove(b))
		writeTrack(t, b, 48000, noise(4*48000, 3, 0.1))
		setAge(t, b, 30*time.Second)
		assert.Empty(t, related(t, c, a, b, other))
	})
	t.Run("a fresh track is not kept", func(t *testing.T) {
		fresh := writeTrack(t, filepath.Join(t.TempDir(), "fresh.wav"), 48000, noise(4*48000, 1, 0.1))
		before := len(kinFiles(t, c))
		assert.Len(t, related(t, c, a, fresh), 1)
		assert.Len(t, kinFiles(t, c), before)
	})
	t.Run("clearing the cache clears it", func(t *testing.T) {
		require.NoError(t, c.Clear())
		assert.Empty(t, kinFiles(t, c))
	})
}

func TestRelateWithoutACache(t *testing.T) {
	a, b := settledFile(t, "a.wav", noise(4*48000, 1, 0.1)), settledFile(t, "b.wav", noise(4*48000, 1, 0.1))
	results, err := MeasureAll(context.Background(), []string{a, b}, Options{WithSketch: true})
	require.NoError(t, err)
	assert.Len(t, Relate([]*Analysis{results[0].Analysis, results[1].Analysis}), 1)
	assert.Empty(t, Relate(nil))
}
