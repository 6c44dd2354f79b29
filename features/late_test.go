package features

import (
	"context"
	"fmt"
	"math/rand/v2"
	"path/filepath"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// played is a part of strokes at irregular times: noise that dies away. Invented; where they lie is known by construction.
func played(n int, rhythm, sound uint64) []float32 {
	when, what := rand.New(rand.NewPCG(rhythm, 1)), rand.New(rand.NewPCG(sound, 2))
	x := make([]float32, n)
	level := float32(0)
	for i, next := 0, 0; i < n; i++ {
		if i == next {
			level = 0.1 + 0.3*when.Float32()
			next = i + 3000 + when.IntN(24000)
		}
		level *= 0.9996
		x[i] = level * (2*what.Float32() - 1)
	}
	return x
}

// mixed is a plus gain times b, delayed.
func mixed(a, b []float32, gain float32, delay int) []float32 {
	out := append([]float32(nil), a...)
	for i := delay; i < len(out) && i-delay < len(b); i++ {
		out[i] += gain * b[i-delay]
	}
	return out
}

func TestFindLate(t *testing.T) {
	const rate, n = 48000, 30 * 48000
	voice, drum, bass, keys := played(n, 1, 1), played(n, 2, 2), played(n, 3, 3), played(n, 4, 4)
	loop := make([]float32, n)
	for i := range loop {
		loop[i] = drum[i%(2*rate)]
	}
	late := make([]float32, n) // a part that was copied to a place 12 s later, and a file that is empty until then
	copy(late[12*rate:], voice[:9*rate])
	known, dir := map[*float32]*Analysis{}, t.TempDir() // by the first sample: what is not cut is measured once
	find := func(t *testing.T, tracks ...[]float32) []Late {
		var list []*Analysis
		for i, x := range tracks {
			if a := known[&x[0]]; a != nil && a.Profile.Frames == int64(len(x)) && !slices.Contains(list, a) {
				list = append(list, a)
				continue
			}
			path := writeTrack(t, filepath.Join(dir, fmt.Sprintf("%d-%d.wav", len(known), i)), rate, x)
			results, err := MeasureAll(context.Background(), []string{path}, Options{WithSketch: true})
			require.NoError(t, err)
			require.NoError(t, results[0].Err)
			known[&x[0]] = results[0].Analysis
			list = append(list, results[0].Analysis)
		}
		return FindLate(context.Background(), list, func(string) bool { return false })
	}
	const cut = 3*rate + 10416 // 3.217 s
	for _, c := range []struct {
		what    string
		tracks  [][]float32
		start   int64 // of the last track; 0: it stays
		within  int64
		witness int
	}{
		{"a copy, quieter", [][]float32{voice, bass, mixed(make([]float32, n), voice, 0.3, 0)[cut:]}, cut, 0, 0},
		{"a copy that ends early, too", [][]float32{voice, bass, voice[cut : n-70001]}, cut, 0, 0},
		{"half of the song missing", [][]float32{voice, bass, voice[16*rate+7:]}, 16*rate + 7, 0, 0},
		{"a sum", [][]float32{bass, mixed(mixed(voice, drum, 1, 0), bass, 1, 0), voice[cut : n-9999]}, cut, 0, 1},
		{"bleed: heard 4 ms later and 20 dB down", [][]float32{bass, mixed(drum, voice, 0.1, 192), voice[cut : n-9999]}, cut, 193, 1},
		{"the second performance of a part, all files end together", [][]float32{voice, bass, drum, played(n, 1, 9)[cut:]}, cut, 0, 0},
		{"no witness", [][]float32{bass, drum, voice[cut:]}, 0, 0, 0},
		{"nothing is cut", [][]float32{voice, bass, voice}, 0, 0, 0},
		{"it ends early", [][]float32{voice, bass, voice[:n-cut]}, 0, 0, 0},
		{"a loop", [][]float32{loop, bass, loop[cut:]}, 0, 0, 0},
		{"an echo 1.5 s late that ends early", [][]float32{voice, bass, mixed(make([]float32, n), voice, 0.5, 72000)[:n-2*rate]}, 0, 0, 0},
		{"a part copied to a later place, the file ends early", [][]float32{voice, bass, late[:22*rate]}, 0, 0, 0},
		{"another part", [][]float32{voice, bass, drum, keys[cut:]}, 0, 0, 0},
	} {
		t.Run(c.what, func(t *testing.T) {
			found := find(t, c.tracks...)
			if c.start == 0 {
				assert.Empty(t, found)
				return
			}
			require.Len(t, found, 1)
			assert.Equal(t, len(c.tracks)-1, found[0].Track)
			assert.Equal(t, c.witness, found[0].Witness)
			assert.InDelta(t, c.start, found[0].Start, float64(c.within))
		})
	}
	t.Run("what a table says of a file holds", func(t *testing.T) {
		path := writeTrack(t, filepath.Join(t.TempDir(), "a.wav"), rate, voice)
		short := writeTrack(t, filepath.Join(t.TempDir(), "b.wav"), rate, voice[cut:])
		results, err := MeasureAll(context.Background(), []string{path, short}, Options{WithSketch: true})
		require.NoError(t, err)
		list := []*Analysis{results[0].Analysis, results[1].Analysis}
		assert.Len(t, FindLate(context.Background(), list, func(string) bool { return false }), 1)
		assert.Empty(t, FindLate(context.Background(), list, func(p string) bool { return p == short }))
	})
}
