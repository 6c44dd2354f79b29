package features

import (
	"bytes"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// settledFile writes a track whose modification time is old enough to be cached.
func settledFile(t *testing.T, name string, planes ...[]float32) string {
	t.Helper()
	path := writeTrack(t, filepath.Join(t.TempDir(), name), 48000, planes...)
	setAge(t, path, time.Minute)
	return path
}

func setAge(t *testing.T, path string, age time.Duration) {
	t.Helper()
	at := time.Now().Add(-age)
	require.NoError(t, os.Chtimes(path, at, at))
}

func testCache(t *testing.T) *Cache {
	t.Helper()
	c, err := OpenCache(filepath.Join(t.TempDir(), "cache"))
	require.NoError(t, err)
	t.Cleanup(func() { assert.NoError(t, c.Err()) })
	return c
}

// cached says whether the cache knows a track, and returns what it knows.
func cached(c *Cache, path string, withSketch bool) (*Analysis, bool) {
	e := c.entry(path)
	return e.load(withSketch)
}

// assertSame compares two analyses, wherever they are kept.
func assertSame(t *testing.T, want, got *Analysis) {
	t.Helper()
	a, b := *want, *got
	a.Sketch, b.Sketch = a.Whole(), b.Whole()
	a.place, b.place, a.waves, b.waves = cacheEntry{}, cacheEntry{}, nil, nil
	assert.Equal(t, a, b)
}

func TestCacheReturnsWhatWasMeasured(t *testing.T) {
	c := testCache(t)
	for _, path := range []string{
		settledFile(t, "noise.wav", noise(30000, 1, 0.5), noise(30000, 2, 0.1)),
		settledFile(t, "silence.wav", make([]float32, 9000)), // levels of minus infinity must survive
	} {
		_, ok := cached(c, path, false)
		require.False(t, ok)
		fresh, err := measure(path, Options{Cache: c, WithSketch: true})
		require.NoError(t, err)
		plain, err := measure(path, Options{WithSketch: true})
		require.NoError(t, err)
		assertSame(t, plain, fresh)
		kept, ok := cached(c, path, true)
		require.True(t, ok)
		kept.Path = path
		assertSame(t, fresh, kept)
		again, err := measure(path, Options{Cache: c, WithSketch: true})
		require.NoError(t, err)
		assertSame(t, fresh, again)
	}
}

func TestCacheKeepsTheSketchThatWasNotAskedFor(t *testing.T) {
	c, path := testCache(t), settledFile(t, "a.wav", noise(30000, 1, 0.5))
	plain, err := measure(path, Options{Cache: c})
	require.NoError(t, err)
	assert.Zero(t, plain.Sketch)
	fresh, err := measure(path, Options{WithSketch: true})
	require.NoError(t, err)
	kept, ok := cached(c, path, true)
	require.True(t, ok)
	assert.Equal(t, fresh.Sketch, kept.Whole())
}

func TestCacheForgetsChangedFiles(t *testing.T) {
	c, path := testCache(t), settledFile(t, "a.wav", noise(30000, 1, 0.5))
	_, err := measure(path, Options{Cache: c})
	require.NoError(t, err)
	_, ok := cached(c, path, false)
	require.True(t, ok)

	setAge(t, path, 2*time.Minute)
	_, ok = cached(c, path, false)
	assert.False(t, ok, "another time")

	_, err = measure(path, Options{Cache: c})
	require.NoError(t, err)
	age, err := os.Stat(path)
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, append(must(os.ReadFile(path)), 0, 0), 0o644))
	require.NoError(t, os.Chtimes(path, age.ModTime(), age.ModTime()))
	_, ok = cached(c, path, false)
	assert.False(t, ok, "another size")
}

// A file written a moment ago may change once more within a tick of the clock.
func TestCacheDoesNotTrustFreshFiles(t *testing.T) {
	c, path := testCache(t), settledFile(t, "a.wav", noise(5000, 1, 0.5))
	for _, age := range []time.Duration{0, -time.Hour} {
		setAge(t, path, age)
		_, err := measure(path, Options{Cache: c})
		require.NoError(t, err)
		_, ok := cached(c, path, false)
		assert.False(t, ok)
	}
}

func TestCacheDoesNotKeepAFileThatChangedMeanwhile(t *testing.T) {
	c, path := testCache(t), settledFile(t, "a.wav", noise(5000, 1, 0.5))
	e := c.entry(path)
	a, err := measure(path, Options{})
	require.NoError(t, err)
	setAge(t, path, time.Hour)
	e.save(a, false)
	_, ok := e.load(false)
	assert.False(t, ok)
}

func TestDamagedEntriesAreAbsent(t *testing.T) {
	c, path := testCache(t), settledFile(t, "a.wav", noise(30000, 1, 0.5))
	fresh, err := measure(path, Options{Cache: c, WithSketch: true})
	require.NoError(t, err)
	e := c.entry(path)
	for _, suffix := range []string{profileSuffix, sketchSuffix, wavesSuffix} {
		name := e.file(suffix)
		whole := must(os.ReadFile(name))
		damaged := map[string][]byte{
			"empty":     {},
			"cut short": whole[:len(whole)-1],
			"half":      whole[:len(whole)/2],
			"key only":  []byte(e.key),
			"longer":    append(bytes.Clone(whole), 0),
			"zeros":     make([]byte, len(whole)),
			"other key": append([]byte("foldout x"), whole[9:]...),
		}
		for i := 0; i < len(whole); i += 1 + len(whole)/50 {
			flipped := bytes.Clone(whole)
			flipped[i] ^= 0x10
			damaged[fmt.Sprint("bit at ", i)] = flipped
		}
		for what, content := range damaged {
			require.NoError(t, os.WriteFile(name, content, 0o600))
			a, ok := e.load(true)
			if suffix == wavesSuffix { // they are looked at only when they are asked for, and then mended
				require.True(t, ok, "%s %s", suffix, what)
				_, whole := e.body(wavesSuffix)
				require.False(t, whole, "%s %s", suffix, what)
				a.Path = path
				assert.Equal(t, fresh.Sketch, a.Whole(), "%s %s", suffix, what)
				_, whole = e.body(wavesSuffix)
				assert.True(t, whole, "%s %s", suffix, what)
				continue
			}
			assert.False(t, ok, "%s %s", suffix, what)
		}
		again, err := measure(path, Options{Cache: c, WithSketch: true})
		require.NoError(t, err)
		assertSame(t, fresh, again)
		_, ok := e.load(true)
		assert.True(t, ok, "written anew")
	}
}

func TestClearRemovesEntriesOnly(t *testing.T) {
	c, path := testCache(t), settledFile(t, "a.wav", noise(5000, 1, 0.5))
	require.NoError(t, c.Clear(), "no folder yet")
	_, err := measure(path, Options{Cache: c, WithSketch: true})
	require.NoError(t, err)
	foreign := filepath.Join(c.Dir(), "notes.txt")
	require.NoError(t, os.WriteFile(foreign, nil, 0o600))
	require.NoError(t, os.WriteFile(filepath.Join(c.Dir(), "new-1.sketch"), nil, 0o600))
	require.NoError(t, c.Clear())
	left := must(os.ReadDir(c.Dir()))
	require.Len(t, left, 1)
	assert.Equal(t, "notes.txt", left[0].Name())
	_, ok := cached(c, path, false)
	assert.False(t, ok)
}

func TestTrimDropsTheOldest(t *testing.T) {
	c := testCache(t)
	require.NoError(t, os.MkdirAll(c.Dir(), 0o700))
	for name, age := range map[string]time.Duration{
		"1.profile": 3 * time.Hour, "2.sketch": 2 * time.Hour, "3.profile": time.Hour, "4.sketch": 0,
		"new-5.sketch": 5 * time.Hour, "new-6.profile": 0, "notes.txt": 9 * time.Hour,
	} {
		path := filepath.Join(c.Dir(), name)
		require.NoError(t, os.WriteFile(path, make([]byte, 100), 0o600))
		setAge(t, path, age)
	}
	c.limit = 320
	c.trim()
	var left []string
	for _, e := range must(os.ReadDir(c.Dir())) {
		left = append(left, e.Name())
	}
	assert.Equal(t, []string{"3.profile", "4.sketch", "new-6.profile", "notes.txt"}, left)
}

func TestCacheTroubleDoesNotStopMeasuring(t *testing.T) {
	path := settledFile(t, "a.wav", noise(5000, 1, 0.5))
	blocked := filepath.Join(t.TempDir(), "file")
	require.NoError(t, os.WriteFile(blocked, nil, 0o600))
	c, err := OpenCache(filepath.Join(blocked, "below"))
	require.NoError(t, err)
	a, err := measure(path, Options{Cache: c})
	require.NoError(t, err)
	assert.NotZero(t, a.Profile.CentroidHz)
	assert.ErrorContains(t, c.Err(), "profile cache")
}

// helperEnv makes the test program measure a file with a cache, over and over, instead of testing.
const helperEnv = "FOLDOUT_CACHE_TEST"

func TestTwoProcessesShareACache(t *testing.T) {
	if job := os.Getenv(helperEnv); job != "" {
		dir, path, _ := strings.Cut(job, "\n")
		measureOverAndOver(t, dir, path)
		return
	}
	c, path := testCache(t), settledFile(t, "a.wav", noise(20000, 1, 0.5))
	var outputs [3]bytes.Buffer
	var commands []*exec.Cmd
	for i := range outputs {
		cmd := exec.Command(os.Args[0], "-test.run=^TestTwoProcessesShareACache$", "-test.v")
		cmd.Env = append(os.Environ(), helperEnv+"="+c.Dir()+"\n"+path)
		cmd.Stdout, cmd.Stderr = &outputs[i], &outputs[i]
		require.NoError(t, cmd.Start())
		commands = append(commands, cmd)
	}
	for i, cmd := range commands {
		assert.NoError(t, cmd.Wait(), outputs[i].String())
	}
	kept, ok := cached(c, path, true)
	require.True(t, ok)
	fresh, err := measure(path, Options{WithSketch: true})
	require.NoError(t, err)
	kept.Path = path
	assertSame(t, fresh, kept)
}

// measureOverAndOver also cuts entries short and clears the cache, as a crash and a user would.
func measureOverAndOver(t *testing.T, dir, path string) {
	c, err := OpenCache(dir)
	require.NoError(t, err)
	want, err := measure(path, Options{WithSketch: true})
	require.NoError(t, err)
	e := c.entry(path)
	for i := range 40 {
		got, err := measure(path, Options{Cache: c, WithSketch: true})
		require.NoError(t, err)
		assertSame(t, want, got)
		switch i % 8 {
		case 3:
			if st, err := os.Stat(e.file(sketchSuffix)); err == nil {
				_ = os.Truncate(e.file(sketchSuffix), st.Size()/2) // may be gone by now
			}
		case 6:
			require.NoError(t, c.Clear())
		}
	}
	_, err = measure(path, Options{Cache: c, WithSketch: true})
	require.NoError(t, err)
}

func must[T any](v T, err error) T {
	if err != nil {
		panic(err)
	}
	return v
}
