package fold

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/song"
	"foldout/testdata/underrace"
)

// What must not change a grouping: the order of the files, the gain of a track, its polarity.
func TestOrderGainAndPolarityChangeNoGrouping(t *testing.T) {
	underrace.Skip(t)
	for _, ears := range []bool{false, true} {
		plain := prepareSong(t, Options{Pairs: 4, Seed: 1, EarsOnly: ears})
		for _, k := range []int{2, 4, 6} {
			want := folds(t, plain, k)
			for _, seed := range []uint64{1, 2} {
				tracks := slices.Clone(plain.Tracks)
				rng := rand.New(rand.NewPCG(seed, 0))
				rng.Shuffle(len(tracks), func(a, b int) { tracks[a], tracks[b] = tracks[b], tracks[a] })
				s, err := Prepare(plain.Folder, tracks, Options{Pairs: 4, Seed: 1, EarsOnly: ears})
				require.NoError(t, err)
				assert.Equal(t, want, folds(t, s, k), "order of files, %d pairs, ears only %v", k, ears)
			}
		}
	}
}

func TestGainAndPolarityChangeNoGrouping(t *testing.T) {
	underrace.Skip(t)
	gain := func(track string, by float32) func(string, []float32) {
		return func(name string, x []float32) {
			if name == track {
				for i := range x {
					x[i] *= by
				}
			}
		}
	}
	louder, softer := float32(math.Pow(10, 12.0/20)), float32(math.Pow(10, -12.0/20))
	for _, c := range []struct {
		what  string
		track string
		by    float32
	}{
		{"12 dB louder", "Bass DI.wav", louder},
		{"12 dB softer", "Bass Amp.wav", softer},
		{"12 dB louder", "Kick In.wav", louder},
		{"12 dB softer", "Lead Vox.wav", softer},
		{"upside down", "Bass DI.wav", -1},
		{"upside down", "Snare Top.wav", -1},
	} {
		tracks := song.Measure(t, gain(c.track, c.by))
		for _, ears := range []bool{false, true} {
			opt := Options{Pairs: 4, Seed: 1, EarsOnly: ears}
			want := folds(t, prepareSong(t, opt), 4)
			s, err := Prepare("/songs/Harbour Lights", tracks, opt)
			require.NoError(t, err)
			assert.Equal(t, want, folds(t, s, 4), "%s %s, ears only %v", c.track, c.what, ears)
		}
	}
}
