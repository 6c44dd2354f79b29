package plan

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
	"foldout/features/wavfile"
)

// The invented song: eleven tracks of twelve seconds, plain enough to be made in the test, whose recordings are compared
// for real. Names say what they are.
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

// writeSong writes the song to a folder, each track through change. The bass amplifier is the bass, filtered and driven.
func writeSong(t testing.TB, dir string, change func(name string, x []float32)) {
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

// measureSong measures the song as it is, or changed.
func measureSong(t testing.TB, change func(name string, x []float32)) []*features.Analysis {
	t.Helper()
	dir := t.TempDir()
	writeSong(t, dir, change)
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

var plainSong struct {
	sync.Once
	tracks []*features.Analysis
	kin    Kin
}

// prepareSong prepares the unchanged song, which is measured once for all tests.
func prepareSong(t testing.TB, opt Options) *Session {
	t.Helper()
	plainSong.Do(func() {
		plainSong.tracks = measureSong(t, nil)
		plainSong.kin = FindKin(plainSong.tracks)
	})
	require.NotEmpty(t, plainSong.tracks)
	opt.Kin = plainSong.kin
	s, err := Prepare("/songs/Harbour Lights", plainSong.tracks, opt)
	require.NoError(t, err)
	return s
}

// folds returns which tracks share a pair, by file.
func folds(t testing.TB, s *Session, k int) map[string]int {
	t.Helper()
	g, err := s.Fold(k)
	require.NoError(t, err)
	out := map[string]int{}
	for p, l := range g.Labels {
		out[s.Tracks[s.Live[p]].Profile.File] = l
	}
	return out
}

// labelsOf lays a manual placement over a session; tracks that are not named are on no pair.
func labelsOf(s *Session, at map[string]int) []int {
	out := make([]int, len(s.Live))
	for p, i := range s.Live {
		out[p] = -1
		if q, ok := at[s.Tracks[i].Profile.File]; ok {
			out[p] = q - 1
		}
	}
	return out
}
