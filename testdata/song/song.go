// Package song makes the invented song of the tests: eleven tracks of twelve seconds, plain enough to be made in a
// moment, whose recordings are measured and compared for real. Names say what they are.
package song

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"slices"
	"sync"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/features/wavfile"
)

const (
	songRateHz  = 48000
	songSamples = 12 * songRateHz
	beat        = songRateHz / 2
)

// part makes one track of the song.
type part struct {
	name string
	wave func(rng *rand.Rand) []float32
}

// struck repeats a decaying sound every so many beats.
func struck(every, offset float64, decayS float64, sound func(t float64, rng *rand.Rand) float64) func(*rand.Rand) []float32 {
	return func(rng *rand.Rand) []float32 {
		x := make([]float32, songSamples)
		for start := int(offset * beat); start < songSamples; start += int(every * beat) {
			strength := 0.5 + 0.3*rng.Float64()
			for i := start; i < songSamples && i < start+int(every*beat); i++ {
				t := float64(i-start) / songRateHz
				x[i] += float32(strength * math.Exp(-t*4.6/decayS) * sound(t, rng))
			}
		}
		return x
	}
}

// tone is a note of the given partials, new at every beat.
func tone(partials int, low, high float64, beats int) func(*rand.Rand) []float32 {
	return func(rng *rand.Rand) []float32 {
		x := make([]float32, songSamples)
		var f float64
		for i := range x {
			t := i % (beats * beat)
			if t == 0 {
				f = low * math.Pow(high/low, rng.Float64())
			}
			env := math.Min(1, float64(t)/2000) * math.Exp(-float64(t)/float64(beats*beat))
			for p := 1; p <= partials; p++ {
				x[i] += float32(0.3 * env / float64(p) * math.Sin(2*math.Pi*f*float64(p)*float64(i)/songRateHz))
			}
		}
		return x
	}
}

func noise(_ float64, rng *rand.Rand) float64 { return 2*rng.Float64() - 1 }

var song = []part{
	{"Kick In.wav", struck(1, 0, 0.25, func(t float64, _ *rand.Rand) float64 { return math.Sin(2 * math.Pi * (50*t + 8*math.Exp(-40*t))) })},
	{"Snare Top.wav", struck(2, 1, 0.2, func(t float64, rng *rand.Rand) float64 {
		return 0.6*math.Sin(2*math.Pi*190*t) + 0.5*noise(t, rng)
	})},
	{"Hat.wav", struck(0.5, 0, 0.08, func(t float64, rng *rand.Rand) float64 { return 0.3 * (noise(t, rng) - noise(t, rng)) })},
	{"Bass DI.wav", tone(6, 41, 98, 1)},
	{"Shaker.wav", struck(0.25, 0.1, 0.1, func(t float64, rng *rand.Rand) float64 { return 0.2 * (noise(t, rng) - noise(t, rng)) })},
	{"Gtr Rhythm.wav", tone(14, 110, 330, 1)},
	{"Gtr Lead.wav", tone(10, 220, 660, 2)},
	{"Piano.wav", tone(5, 130, 520, 1)},
	{"Organ.wav", tone(4, 260, 520, 4)},
	{"Lead Vox.wav", tone(9, 200, 400, 2)},
	{"BV 1.wav", tone(8, 250, 500, 4)},
}

// Write writes the song to a folder, each track through change. The bass amplifier is the bass, filtered and driven.
func Write(t testing.TB, dir string, change func(name string, x []float32)) {
	t.Helper()
	write := func(name string, x []float32) {
		if change != nil {
			change(name, x)
		}
		w, err := wavfile.Create(filepath.Join(dir, name), wavfile.Format{SampleRateHz: songRateHz, Channels: 1, Encoding: wavfile.Float32}, false)
		require.NoError(t, err)
		require.NoError(t, w.Write([][]float32{x}))
		require.NoError(t, w.Close())
	}
	for i, p := range song {
		x := p.wave(rand.New(rand.NewPCG(7, uint64(i))))
		write(p.name, slices.Clone(x))
		if p.name == "Bass DI.wav" {
			y, state := make([]float32, len(x)), float32(0)
			for k, v := range x {
				state += 0.2 * (v - state)
				y[k] = float32(math.Tanh(2 * float64(state)))
			}
			write("Bass Amp.wav", y)
		}
	}
	write("Spare.wav", make([]float32, songSamples))
}

// Measure measures the song as it is, or changed.
func Measure(t testing.TB, change func(name string, x []float32)) []*features.Analysis {
	t.Helper()
	dir := t.TempDir()
	Write(t, dir, change)
	return MeasureFolder(t, dir)
}

// MeasureFolder measures all files of a folder, in the order of their names.
func MeasureFolder(t testing.TB, dir string) []*features.Analysis {
	t.Helper()
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var paths []string
	for _, e := range entries {
		paths = append(paths, filepath.Join(dir, e.Name()))
	}
	results, err := features.MeasureAll(context.Background(), paths, features.Options{WithSketch: true, Folder: dir})
	require.NoError(t, err)
	var out []*features.Analysis
	for _, r := range results {
		require.NoError(t, r.Err)
		out = append(out, r.Analysis)
	}
	return out
}

var plain struct {
	sync.Once
	tracks []*features.Analysis
	kin    []kinship.Relation
}

// Plain returns the unchanged song and the relations between its tracks. It is measured once for all tests of a package.
func Plain(t testing.TB) ([]*features.Analysis, []kinship.Relation) {
	t.Helper()
	plain.Do(func() {
		plain.tracks = Measure(t, nil)
		plain.kin = features.Relate(plain.tracks)
	})
	require.NotEmpty(t, plain.tracks)
	return plain.tracks, plain.kin
}
