package aside_test

import (
	"context"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/features/wavfile"
	"foldout/plan/fold"
	"foldout/plan/sheet"
	"foldout/testdata/song"
)

const rateHz = 48000

// The invented song with what is no track beside it, under names that say so and under names that say nothing. (The files are
// invented; that a sum of tracks is a mix, a 1 kHz sine a tone and stationary noise noise needs no source.)
func TestWhatIsNoTrackIsSetAside(t *testing.T) {
	for _, c := range []struct {
		name  string
		files map[string]string // kind, name
	}{
		{"named", map[string]string{"mix": "Rough mix 2.wav", "click": "Click.wav", "tone": "1k tone.wav", "noise": "Room tone.wav", "duplicate": "Piano copy.wav"}},
		{"unnamed", map[string]string{"mix": "Audio 31.wav", "click": "Audio 32.wav", "tone": "Audio 33.wav", "noise": "Audio 34.wav", "duplicate": "Audio 35.wav"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			mix := make([]float32, 12*rateHz)
			var piano []float32
			song.Write(t, dir, func(name string, x []float32) {
				for i, v := range x {
					mix[i] += 0.4 * v
				}
				if name == "Piano.wav" {
					piano = append(piano, x...)
				}
			})
			for kind, x := range map[string][]float32{"mix": squeeze(mix), "click": pips(), "tone": sine(), "noise": hiss(), "duplicate": piano} {
				write(t, filepath.Join(dir, c.files[kind]), x)
			}
			s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1})
			got := map[string]string{}
			for _, a := range s.Aside {
				got[a.File] = a.Kind
				assert.NotEmpty(t, a.Reason)
			}
			for _, q := range s.Asked {
				got[q.File] = "asked: " + q.Kind
			}
			want := map[string]string{"Spare.wav": "silent"}
			for kind, file := range c.files {
				want[file] = kind
			}
			assert.Equal(t, want, got)
		})
	}
}

func TestTheUserDecidesWhatIsATrack(t *testing.T) {
	dir := t.TempDir()
	song.Write(t, dir, nil)
	write(t, filepath.Join(dir, "Click.wav"), pips())
	s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1, Include: []string{"click"}, Exclude: []string{"BV*"}})
	assert.Equal(t, []sheet.SetAside{
		{File: "BV 1.wav", Kind: "excluded", Certainty: 1, Reason: "you excluded it (BV*)"},
		{File: "Spare.wav", Kind: "silent", Certainty: 1, Reason: "silent: nothing rises above the noise floor"},
	}, s.Aside)
}

// A folder that holds nothing but one track, or nothing but suspects, keeps them.
func TestALoneTrackStays(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "Full mix.wav"), pips())
	s := prepare(t, dir, fold.Options{Pairs: 1, Seed: 1})
	assert.Empty(t, s.Aside)
}

func prepare(t *testing.T, dir string, opt fold.Options) *fold.Session {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	var paths []string
	for _, e := range entries {
		paths = append(paths, filepath.Join(dir, e.Name()))
	}
	results, err := features.MeasureAll(context.Background(), paths, features.Options{WithSketch: true, Folder: dir})
	require.NoError(t, err)
	var tracks []*features.Analysis
	for _, r := range results {
		require.NoError(t, r.Err)
		tracks = append(tracks, r.Analysis)
	}
	s, err := fold.Prepare(dir, tracks, opt)
	require.NoError(t, err)
	return s
}

func write(t *testing.T, path string, x []float32) {
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rateHz, Channels: 1, Encoding: wavfile.Float32}, false)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{x}))
	require.NoError(t, w.Close())
}

// squeeze drives a sum through a soft curve, 5 ms later.
func squeeze(x []float32) []float32 {
	y := make([]float32, len(x))
	for i := 240; i < len(x); i++ {
		y[i] = float32(math.Tanh(float64(x[i-240])))
	}
	return y
}

func pips() []float32 {
	x := make([]float32, 12*rateHz)
	for beat := range 24 {
		f := 1200.0
		if beat%4 == 0 {
			f = 1600
		}
		for i := range rateHz / 40 {
			x[beat*rateHz/2+i] = float32(0.4 * math.Sin(2*math.Pi*f*float64(i)/rateHz) * math.Exp(-float64(i)/300))
		}
	}
	return x
}

func sine() []float32 {
	x := make([]float32, 12*rateHz)
	for i := range x {
		x[i] = float32(0.126 * math.Sin(2*math.Pi*1000*float64(i)/rateHz))
	}
	return x
}

func hiss() []float32 {
	rng := rand.New(rand.NewPCG(1, 2))
	x := make([]float32, 12*rateHz)
	for i := range x {
		x[i] = float32(0.003 * rng.NormFloat64())
	}
	return x
}
