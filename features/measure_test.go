package features

import (
	"context"
	"encoding/binary"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/signal"
)

var noise, sine = signal.Noise, signal.Sine

func scaled(x []float32, gain float32) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = gain * v
	}
	return out
}

func sum(x, y []float32) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = v + y[i]
	}
	return out
}

// measure is MeasureAll of one file.
func measure(path string, opt Options) (*Analysis, error) {
	results, err := MeasureAll(context.Background(), []string{path}, opt)
	if err != nil {
		return nil, err
	}
	return results[0].Analysis, results[0].Err
}

// writeTrack writes planes as a 32-bit float file and returns its path.
func writeTrack(t *testing.T, path string, rate int, planes ...[]float32) string {
	t.Helper()
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rate, Channels: len(planes), Encoding: wavfile.Float32}, true)
	require.NoError(t, err)
	require.NoError(t, w.Write(planes))
	require.NoError(t, w.Close())
	return path
}

func near(t *testing.T, want float64, got DB, tolerance float64, what ...any) {
	t.Helper()
	assert.InDelta(t, want, float64(got), tolerance, what...)
}

func measured(t *testing.T, rate int, planes ...[]float32) Profile {
	t.Helper()
	a, err := measure(writeTrack(t, filepath.Join(t.TempDir(), "a.wav"), rate, planes...), Options{})
	require.NoError(t, err)
	return a.Profile
}

// A 997 Hz sine at -20 dBFS peak in one channel: -23.01 LUFS (ITU-R BS.1770-5: 0 dBFS in one channel reads -3.01), rms
// 3.01 dB below its peak, centroid at its frequency.
func TestSineReadsAsTheStandardsSay(t *testing.T) {
	p := measured(t, 48000, sine(48000*5, 48000, 997, 0.1))
	near(t, -23.01, p.IntegratedLUFS, 0.02)
	near(t, -20, p.SamplePeakDBFS, 0.01)
	near(t, -20, p.TruePeakDBTP, 0.05)
	near(t, -23.01, p.RMSDBFS, 0.01)
	near(t, 3.01, p.CrestDB, 0.05)
	near(t, 3.01, p.PeakToLoudnessDB, 0.1)
	assert.InDelta(t, 997, float64(p.CentroidHz), 1)
	near(t, 0, p.OctaveDB[5], 0.01)
	assert.InDelta(t, 1, p.RegisterShare[3], 0.001)
	assert.Equal(t, 5.0, p.DurationS)
	assert.Equal(t, int64(240000), p.Frames)
	assert.True(t, p.Float)
	assert.Equal(t, 32, p.BitDepth)
	assert.Equal(t, "a.wav", p.File)
	assert.Equal(t, 1.0, p.Correlation)
	assert.False(t, p.Silent)
}

// Expected values follow from the definitions: for l = m + s and r = m - s with independent m and s.
func TestStereoFigures(t *testing.T) {
	const n = 96000
	m, s := noise(n, 1, 0.25), noise(n, 2, 0.125) // side 6.02 dB below mid
	l, r := sum(m, s), sum(m, scaled(s, -1))
	silence := make([]float32, n)
	inf := math.Inf(-1)
	for _, c := range []struct {
		name                       string
		planes                     [][]float32
		correlation, side, balance float64
		dual                       bool
	}{
		{"mono", [][]float32{m}, 1, inf, 0, false},
		{"same in both", [][]float32{m, m}, 1, inf, 0, true},
		{"same but for noise 80 dB down", [][]float32{m, sum(m, noise(n, 3, 0.25e-4))}, 1, -86.02, 0, true},
		{"one upside down", [][]float32{m, scaled(m, -1)}, -1, 120, 0, false},
		{"louder left", [][]float32{m, scaled(m, 0.5)}, 1, -9.542, 6.0206, false}, // side 1/4, mid 3/4
		{"left only", [][]float32{m, silence}, 0, 0, 120, false},
		{"right only", [][]float32{silence, m}, 0, 0, -120, false},
		{"independent", [][]float32{m, noise(n, 9, 0.25)}, 0, 0, 0, false},
		{"wide", [][]float32{l, r}, 0.6, -6.0206, 0, false}, // (1 - 1/4) / (1 + 1/4)
		{"third channel does not count", [][]float32{m, m, s}, 1, inf, 0, true},
		{"silence", [][]float32{silence, silence}, 0, inf, 0, false},
		{"independent, with offsets", [][]float32{sum(m, scaled(onesOf(n), 0.5)), sum(noise(n, 9, 0.25), scaled(onesOf(n), 0.3))}, 0, 0, 0, false},
		{"same in both, other offsets", [][]float32{sum(m, scaled(onesOf(n), 0.125)), sum(m, scaled(onesOf(n), -0.125))}, 1, inf, 0, true},
		{"left a constant", [][]float32{scaled(onesOf(n), 0.5), m}, 0, 0, -120, false},
	} {
		t.Run(c.name, func(t *testing.T) {
			p := measured(t, 48000, c.planes...)
			assert.InDelta(t, c.correlation, p.Correlation, 0.02)
			if math.IsInf(c.side, -1) {
				assert.True(t, math.IsInf(float64(p.SideToMidDB), -1))
			} else {
				near(t, c.side, p.SideToMidDB, 0.2)
			}
			near(t, c.balance, p.BalanceDB, 0.2)
			assert.Equal(t, c.dual, p.DualMono)
		})
	}
}

// Numbers of a usable kind come out of the oddest files.
func TestOddFiles(t *testing.T) {
	for _, c := range []struct {
		name   string
		rate   int
		planes [][]float32
	}{
		{"one sample", 48000, [][]float32{{0.5}}},
		{"10 ms", 48000, [][]float32{noise(480, 1, 0.5)}},
		{"silence", 44100, [][]float32{make([]float32, 44100)}},
		{"constant", 48000, [][]float32{scaled(onesOf(48000), 0.25)}},
		{"8 kHz", 8000, [][]float32{noise(8000, 2, 0.5)}},
		{"384 kHz", 384000, [][]float32{noise(100000, 3, 0.5)}},
		{"64 channels", 48000, many(64, 10000)},
		{"not numbers", 48000, [][]float32{noise(20000, 4, 0.5)}},
	} {
		t.Run(c.name, func(t *testing.T) {
			path := writeTrack(t, filepath.Join(t.TempDir(), "a.wav"), c.rate, c.planes...)
			if c.name == "not numbers" {
				spoil(t, path, float32(math.NaN()), float32(math.Inf(1)), float32(math.Inf(-1)))
			}
			a, err := measure(path, Options{WithSketch: true})
			require.NoError(t, err)
			p := a.Profile
			assert.Equal(t, c.rate, p.SampleRateHz)
			assert.Equal(t, len(c.planes), p.Channels)
			assert.Equal(t, c.name == "not numbers", p.NonFinite == 3)
			for name, v := range finite(p) {
				assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%s: %v", name, v)
			}
			for i, v := range a.Timbre {
				assert.False(t, math.IsNaN(float64(v)) || math.IsInf(float64(v), 0), "timbre %d", i)
			}
			_, err = json.Marshal(p)
			assert.NoError(t, err)
			if c.name == "silence" || c.name == "constant" {
				assert.True(t, p.Silent)
				assert.Zero(t, p.CentroidHz)
				assert.Equal(t, Shares{}, p.RegisterShare)
			}
			if c.name == "silence" {
				text, err := json.Marshal(p)
				require.NoError(t, err)
				for _, key := range []string{"centroid_hz", "attack_s", "decay_s", "integrated_lufs"} {
					assert.Contains(t, string(text), `"`+key+`":null`)
				}
				var back Profile
				require.NoError(t, json.Unmarshal(text, &back))
				assert.Equal(t, p, back, "null reads as none")
				assert.True(t, math.IsInf(float64(p.PeakToLoudnessDB), -1))
			}
		})
	}
}

// spoil replaces the last samples of a float file.
func spoil(t *testing.T, path string, values ...float32) {
	t.Helper()
	content, err := os.ReadFile(path)
	require.NoError(t, err)
	for i, v := range values {
		binary.LittleEndian.PutUint32(content[len(content)-4*(len(values)-i):], math.Float32bits(v))
	}
	require.NoError(t, os.WriteFile(path, content, 0o644))
}

func onesOf(n int) []float32 {
	out := make([]float32, n)
	for i := range out {
		out[i] = 1
	}
	return out
}

func many(channels, n int) [][]float32 {
	planes := make([][]float32, channels)
	for c := range planes {
		planes[c] = noise(n, uint32(c), 0.1)
	}
	return planes
}

// finite lists the figures that are numbers whatever the track.
func finite(p Profile) map[string]float64 {
	return map[string]float64{
		"duration": p.DurationS, "dc": p.DCOffset, "active": p.ActiveShare, "centroid": float64(p.CentroidHz), "spread": float64(p.SpreadHz),
		"rolloff": float64(p.Rolloff85Hz), "flatness": p.Flatness, "onsets": p.OnsetRateHz, "attack": float64(p.AttackS), "decay": float64(p.DecayS),
		"tonality": p.Tonality, "correlation": p.Correlation, "balance": float64(p.BalanceDB),
		"crest": float64(p.CrestDB), "range": float64(p.LoudnessRangeLU),
	}
}

func TestMeasureAllKeepsOrderAndGoesOn(t *testing.T) {
	dir := t.TempDir()
	var paths []string
	for i, n := range []int{1000, 200000, 5000} {
		paths = append(paths, writeTrack(t, filepath.Join(dir, fmt.Sprintf("%d.wav", i)), 48000, noise(n, uint32(i), 0.5)))
	}
	bad := filepath.Join(dir, "bad.wav")
	require.NoError(t, os.WriteFile(bad, []byte("fLaC, and no wave at all"), 0o644))
	paths = append(paths, bad, filepath.Join(dir, "missing.wav"), paths[0])
	for _, workers := range []int{0, 1, 2, 9} {
		var last, total int64
		results, err := MeasureAll(context.Background(), paths, Options{Workers: workers, Folder: filepath.Dir(dir),
			Progress: func(d, n int64) {
				assert.GreaterOrEqual(t, d, last)
				last, total = d, n
			}})
		require.NoError(t, err)
		require.Len(t, results, len(paths))
		for i, r := range results {
			assert.Equal(t, paths[i], r.Path)
			if i == 3 || i == 4 {
				assert.Nil(t, r.Analysis)
				assert.ErrorContains(t, r.Err, paths[i])
				continue
			}
			require.NoError(t, r.Err)
			assert.Equal(t, filepath.Base(dir)+"/"+filepath.Base(paths[i]), r.Analysis.Profile.File)
			assert.Zero(t, r.Analysis.Sketch.DurationSeconds)
		}
		assert.Equal(t, []int64{1000, 200000, 5000}, []int64{results[0].Analysis.Profile.Frames,
			results[1].Analysis.Profile.Frames, results[2].Analysis.Profile.Frames})
		assert.Equal(t, total, last, "progress ends at the total, whatever became of the files")
	}
}

func TestMeasureAllStopsWithItsContext(t *testing.T) {
	path := writeTrack(t, filepath.Join(t.TempDir(), "a.wav"), 48000, noise(100000, 1, 0.5))
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	results, err := MeasureAll(ctx, []string{path, path}, Options{})
	assert.ErrorIs(t, err, context.Canceled)
	for _, r := range results {
		assert.ErrorIs(t, r.Err, context.Canceled)
	}
}

func TestMeasuringTwiceGivesTheSame(t *testing.T) {
	path := writeTrack(t, filepath.Join(t.TempDir(), "a.wav"), 44100, noise(300000, 1, 0.5), noise(300000, 2, 0.5))
	a, err := measure(path, Options{WithSketch: true})
	require.NoError(t, err)
	results, err := MeasureAll(context.Background(), []string{path, path, path}, Options{Workers: 1, WithSketch: true})
	require.NoError(t, err)
	for _, r := range results {
		assert.Equal(t, a, r.Analysis)
	}
}

// Levels move with gain, shapes do not.
func TestGainShiftsLevelsOnly(t *testing.T) {
	x := sum(noise(200000, 1, 0.2), sine(200000, 48000, 300, 0.2))
	a, b := measured(t, 48000, x), measured(t, 48000, scaled(x, -0.25))
	const gain = -12.0412
	for name, v := range map[string][2]DB{
		"integrated": {a.IntegratedLUFS, b.IntegratedLUFS}, "true peak": {a.TruePeakDBTP, b.TruePeakDBTP},
		"rms": {a.RMSDBFS, b.RMSDBFS}, "sample peak": {a.SamplePeakDBFS, b.SamplePeakDBFS},
		"momentary": {a.MaxMomentaryLUFS, b.MaxMomentaryLUFS},
	} {
		near(t, gain, v[1]-v[0], 0.01, name)
	}
	assert.InEpsilon(t, float64(a.CentroidHz), float64(b.CentroidHz), 1e-5)
	near(t, float64(a.CrestDB), b.CrestDB, 1e-3)
	near(t, float64(a.PeakToLoudnessDB), b.PeakToLoudnessDB, 0.01)
	for i := range a.OctaveDB {
		near(t, float64(a.OctaveDB[i]), b.OctaveDB[i], 1e-4)
	}
}

// What is allocated for a file does not depend on its length.
func TestMemoryDoesNotGrowWithLength(t *testing.T) {
	allocated := func(seconds int) int64 {
		path := writeTrack(t, filepath.Join(t.TempDir(), "a.wav"), 48000, noise(seconds*48000, 1, 0.5))
		var before, after runtime.MemStats
		runtime.ReadMemStats(&before)
		_, err := measure(path, Options{Workers: 1})
		require.NoError(t, err)
		runtime.ReadMemStats(&after)
		return int64(after.TotalAlloc - before.TotalAlloc)
	}
	allocated(1) // tables made once
	short, long := allocated(2), allocated(30)
	assert.Less(t, long-short, int64(64<<10), "bytes")
}

func BenchmarkMeasure(b *testing.B) {
	for _, channels := range []int{1, 2} {
		b.Run(fmt.Sprintf("%d channels", channels), func(b *testing.B) {
			path := filepath.Join(b.TempDir(), "a.wav")
			w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: 48000, Channels: channels, Encoding: wavfile.PCM24}, true)
			require.NoError(b, err)
			require.NoError(b, w.Write(many(channels, 480000)))
			require.NoError(b, w.Close())
			b.SetBytes(int64(channels) * 480000 * 3)
			for b.Loop() {
				_, err := measure(path, Options{})
				require.NoError(b, err)
			}
		})
	}
}
