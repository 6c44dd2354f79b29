package aside

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features"
	"foldout/features/mixture"
	"foldout/plan/roles"
)

// A whole piece of music that the tracks do not explain is a reference song where it is stereo, as broad and as loud as released
// music, and no sum of tracks of the session; else it is asked about, or nothing is said.
func TestWhatMakesAReferenceSong(t *testing.T) {
	for _, c := range []struct {
		name          string
		channels      int
		breadth, lufs float64
		derived       bool
		least, most   float64
	}{
		{"as released", 2, 24, -9, false, Certain, 1},
		{"mono, as a twelve-string guitar", 1, 24, -9, false, Asked, Certain - 0.01},
		{"quiet, as a shaken drum", 2, 24, -20, false, Asked, Certain - 0.01},
		{"less broad, as a church organ", 2, 19, -9, false, Asked, Certain - 0.01},
		{"the session's drums through a compressor", 2, 24, -9, true, 0, 0},
	} {
		a := &features.Analysis{Profile: features.Profile{Channels: c.channels, IntegratedLUFS: features.DB(c.lufs), CrestDB: 9, Tonality: 0.9, ActiveShare: 1}}
		s := &search{Input: Input{Tracks: []*features.Analysis{a}, Hints: make([]roles.Hint, 1), Live: []int{0, 1, 2, 3}, Derived: map[int]bool{0: c.derived}},
			look: &mixture.Survey{Textures: []mixture.Texture{{Breadth: c.breadth, Sounding: 1}}, Loose: map[int]float64{0: 9}}}
		f := s.reference(0, "")
		assert.GreaterOrEqual(t, f.Certainty, c.least, c.name)
		assert.LessOrEqual(t, f.Certainty, c.most, c.name)
	}
}

// A mix holds many tracks of several kinds, and sounds while they do.
func TestWhatMakesAMix(t *testing.T) {
	kinds := []string{"kick", "bass", "electric guitar", "organ", "lead vocal", "horns"}
	for _, c := range []struct {
		name            string
		few             bool // four members of four kinds; else five tracks of six
		error, sounding float64
		least, most     float64
	}{
		{"five tracks of six", false, 1.5, 1, Certain, 1},
		{"claps that rest most of the time", false, 1.5, 0.37, 0, Asked},
		{"a microphone that others hear as well", true, 0, 1, 0, Certain - 0.01},
	} {
		s := &search{Input: Input{Hints: make([]roles.Hint, 31)}, look: &mixture.Survey{Textures: []mixture.Texture{{Sounding: c.sounding}}}, sums: map[int]mixture.Explained{}, held: map[int]float64{}}
		e := mixture.Explained{ErrorDB: c.error}
		for i := range 31 {
			s.Tracks = append(s.Tracks, &features.Analysis{Profile: features.Profile{IntegratedLUFS: -20}})
			s.Beliefs = append(s.Beliefs, map[string]float64{kinds[i%len(kinds)]: 1})
			s.Live = append(s.Live, i)
			if i > 0 {
				s.look.Textures = append(s.look.Textures, mixture.Texture{Sounding: 1})
			}
			if i > 0 && (c.few && i < 5 || !c.few && i%6 > 0) {
				e.Members = append(e.Members, mixture.Member{Track: i, Share: 0.04})
			}
		}
		s.sums[0] = e
		f := s.sum(0, "")
		assert.GreaterOrEqual(t, f.Certainty, c.least, c.name)
		assert.LessOrEqual(t, f.Certainty, c.most, c.name)
	}
}
