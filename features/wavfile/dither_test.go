package wavfile

import (
	"math"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestDitherMakesTheErrorIndependentOfTheSignal holds levels between two steps. With triangular dither of two steps' width the
// total error has mean 0 and variance 1/12 + 1/6 = 1/4 step^2 whatever the input (Lipshitz, Wannamaker and Vanderkooy,
// JAES 40(5), 1992). Without it the error is the distance to the nearest step, always the same.
func TestDitherMakesTheErrorIndependentOfTheSignal(t *testing.T) {
	const n = 400_000
	for _, e := range []Encoding{PCM16, PCM24} {
		scale := math.Exp2(float64(e.bits() - 1))
		for _, level := range []float64{0, 0.25, 0.5, 0.8, -1000.4} {
			plane := make([]float64, n)
			for i := range plane {
				plane[i] = level / scale
			}
			f := Format{SampleRateHz: 48000, Channels: 1, Encoding: e, Dither: true, Seed: 7}
			path := filepath.Join(t.TempDir(), "d.wav")
			assert.Zero(t, writeFile(t, path, f, [][]float64{plane}, 4096))
			mean, variance, lag := errorStatistics(t, path, level, scale)
			// Standard errors: mean 0.5/sqrt(n) = 0.0008, variance below 0.0006, lag-1 correlation 1/sqrt(n) = 0.0016.
			assert.InDelta(t, 0, mean, 0.004, "%d bits, level %v", e.bits(), level)
			assert.InDelta(t, 0.25, variance, 0.003, "%d bits, level %v", e.bits(), level)
			assert.InDelta(t, 0, lag, 0.008, "white: %d bits, level %v", e.bits(), level)

			f.Dither = false
			path = filepath.Join(t.TempDir(), "u.wav")
			writeFile(t, path, f, [][]float64{plane}, 4096)
			mean, variance, _ = errorStatistics(t, path, level, scale)
			assert.InDelta(t, math.RoundToEven(level)-level, mean, 1e-9)
			assert.InDelta(t, 0, variance, 1e-9)
		}
	}
}

// errorStatistics is the error of a file against a constant level, in steps: mean, variance, correlation with its
// neighbour.
func errorStatistics(t *testing.T, path string, level, scale float64) (mean, variance, lag float64) {
	t.Helper()
	r, err := Open(path)
	require.NoError(t, err)
	got := readAll(t, r, 4096)
	require.NoError(t, r.Close())
	n := float64(len(got))
	for i := range got {
		got[i] = got[i]*scale - level
		mean += got[i] / n
	}
	for i, v := range got {
		variance += (v - mean) * (v - mean) / n
		if i > 0 {
			lag += (v - mean) * (got[i-1] - mean) / n
		}
	}
	return mean, variance, lag / max(variance, 1e-12)
}

// TestDitherRepeats: same seed, same file, however the frames are cut into blocks; another seed or channel, other noise.
func TestDitherRepeats(t *testing.T) {
	dir := t.TempDir()
	file := func(name string, seed uint64, block int) []byte {
		path := filepath.Join(dir, name)
		writeFile(t, path, Format{SampleRateHz: 48000, Channels: 2, Encoding: PCM16, Dither: true, Seed: seed}, newPlanes[float32](2, 100_000), block)
		b, err := os.ReadFile(path)
		require.NoError(t, err)
		return b
	}
	first := file("a", 1, 100_000)
	assert.True(t, string(first) == string(file("b", 1, 333)), "same seed, other blocks")
	assert.False(t, string(first) == string(file("c", 2, 333)), "other seed")
	r, err := Open(filepath.Join(dir, "a"))
	require.NoError(t, err)
	both := readAll(t, r, 4096)
	require.NoError(t, r.Close())
	cross, power := 0., 0.
	for i := 0; i < len(both); i += 2 {
		cross += both[i] * both[i+1]
		power += both[i] * both[i]
	}
	assert.InDelta(t, 0, cross/power, 0.016, "channels independent: five standard errors of 1/sqrt(100000)")
}
