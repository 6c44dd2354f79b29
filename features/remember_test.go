package features

import (
	"errors"
	"math"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestRemember(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a.wav")
	old := time.Now().Add(-time.Hour)
	write := func(content string, at time.Time) {
		require.NoError(t, os.WriteFile(path, []byte(content), 0o644))
		require.NoError(t, os.Chtimes(path, at, at))
	}
	write("one", old)
	c, err := OpenCache(filepath.Join(dir, "cache"))
	require.NoError(t, err)
	made := 0
	ask := func(c *Cache, kind, settings string, value DB) DB {
		got, err := Remember(c, kind, settings, []string{path}, func() ([]DB, error) { made++; return []DB{value}, nil })
		require.NoError(t, err)
		return got[0]
	}
	times := func(n int, what string) {
		t.Helper()
		assert.Equal(t, n, made, what)
		made = 0
	}
	assert.Equal(t, DB(-3.25), ask(c, "x", "s", -3.25))
	assert.Equal(t, DB(-3.25), ask(c, "x", "s", 99))
	times(1, "kept")
	kept, ok := Recall[[]DB](c, "x", "s", []string{path})
	assert.True(t, ok)
	assert.Equal(t, []DB{-3.25}, kept)
	_, ok = Recall[[]DB](c, "x", "other", []string{path})
	assert.False(t, ok)
	assert.Equal(t, DB(1), ask(c, "y", "s", 1))
	assert.Equal(t, DB(2), ask(c, "x", "t", 2))
	times(2, "another kind, other settings")
	assert.Equal(t, DB(3), ask(nil, "x", "s", 3))
	times(1, "no cache")
	write("two!", old)
	assert.Equal(t, DB(4), ask(c, "x", "s", 4))
	times(1, "another file")
	ask(c, "nan", "s", DB(math.NaN()))
	ask(c, "nan", "s", DB(math.NaN()))
	times(2, "JSON cannot give it back")
	ask(c, "silent", "s", DB(math.Inf(-1)))
	assert.True(t, math.IsInf(float64(ask(c, "silent", "s", 0)), -1))
	times(1, "silence is kept")
	write("two!", time.Now())
	ask(c, "x", "s", 5)
	ask(c, "x", "s", 5)
	times(2, "too young to be trusted")
	broken := errors.New("broken")
	write("two!", old)
	_, err = Remember(c, "e", "s", []string{path}, func() (int, error) { return 0, broken })
	assert.ErrorIs(t, err, broken)
	require.NoError(t, c.Clear())
	ask(c, "x", "s", 6)
	times(1, "cleared")
}
