package aside

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features"
	"foldout/features/mixture"
	"foldout/plan/roles"
)

// "TB" is a talkback microphone and, in a big band's list, a trombone (common practice, no source): where the ears are sure of an
// instrument the name alone sets nothing aside.
func TestATromboneIsNoTalkback(t *testing.T) {
	certainty := func(heard map[string]float64) float64 {
		tracks := []*features.Analysis{{}}
		tracks[0].Profile.File = "TB 1.wav"
		tracks[0].Profile.ActiveShare = 0.44
		s := &search{
			Input: Input{Tracks: tracks, Hints: make([]roles.Hint, 1), Names: true, Beliefs: []map[string]float64{heard}},
			look:  &mixture.Survey{Textures: []mixture.Texture{{Varies: 9}}},
		}
		return s.talkback(0, Talkback).Certainty
	}
	assert.Less(t, certainty(map[string]float64{"horns": 0.95, "lead vocal": 0.02}), Asked)
	assert.GreaterOrEqual(t, certainty(map[string]float64{"lead vocal": 0.7, "horns": 0.1}), Certain)
	assert.GreaterOrEqual(t, certainty(map[string]float64{"horns": 0.3, "synth": 0.3}), Certain, "ears that are not sure leave it to the name")
}
