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
			Input: Input{Tracks: tracks, Hints: make([]roles.Hint, 1), Names: true, Beliefs: []map[string]float64{heard}, Heard: []map[string]float64{heard}},
			look:  &mixture.Survey{Textures: []mixture.Texture{{Varies: 9, Loud: 0.44}}},
		}
		return s.talkback(0, Talkback).Certainty
	}
	assert.Less(t, certainty(map[string]float64{"horns": 0.95, "lead vocal": 0.02}), Asked)
	assert.GreaterOrEqual(t, certainty(map[string]float64{"lead vocal": 0.7, "horns": 0.1}), Certain)
	assert.GreaterOrEqual(t, certainty(map[string]float64{"horns": 0.3, "synth": 0.3}), Certain, "ears that are not sure leave it to the name")
}

// An open microphone hisses between the words: the gate says that it sounds all the time, and what is loud now and then speaks
// (common practice, no source).
func TestTalkbackThatHissesIsAskedAbout(t *testing.T) {
	voice := map[string]float64{"lead vocal": 0.7, "backing vocal": 0.25}
	tracks := []*features.Analysis{{}}
	tracks[0].Profile.File, tracks[0].Profile.ActiveShare, tracks[0].Profile.OnsetRateHz = "Audio 9.wav", 0.98, 1.2
	s := &search{
		Input: Input{Tracks: tracks, Hints: make([]roles.Hint, 1), Names: true, Beliefs: []map[string]float64{voice}, Heard: []map[string]float64{voice}},
		look:  &mixture.Survey{Textures: []mixture.Texture{{Varies: 12, Loud: 0.12}}},
	}
	f := s.talkback(0, "")
	assert.GreaterOrEqual(t, f.Certainty, Asked)
	assert.Less(t, f.Certainty, Certain)
	assert.Contains(t, f.Reason, "it sounds 12 % of the time")
	s.look.Textures[0].Loud = 0.8
	assert.Less(t, s.talkback(0, "").Certainty, Asked, "a voice that sings most of the time")
}

// What the ears are sure is one instrument may be asked about, but is not taken away: a hat of one sample is as even as a click
// (common practice, no source).
func TestOneInstrumentIsNotSetAsideAsAClick(t *testing.T) {
	judged := func(heard map[string]float64, named string) *Finding {
		tracks := []*features.Analysis{{}}
		tracks[0].Profile.File, tracks[0].Profile.DurationS, tracks[0].Profile.ActiveShare = named, 30, 0.2
		s := &search{
			Input: Input{Tracks: tracks, Hints: make([]roles.Hint, 1), Names: true, Beliefs: []map[string]float64{heard}, Heard: []map[string]float64{heard}},
			look:  &mixture.Survey{Textures: make([]mixture.Texture, 1), Pulses: []mixture.Pulse{{Hits: 60, PeriodS: 0.5, Filled: 1, Pip: true}}},
		}
		f, _ := s.judge(0)
		return &f
	}
	hat, unsure := map[string]float64{"hat": 0.83, "percussion": 0.07}, map[string]float64{"percussion": 0.5, "hat": 0.2}
	assert.Equal(t, Click, judged(unsure, "Audio 1.wav").Kind)
	assert.True(t, judged(unsure, "Audio 1.wav").Set())
	assert.False(t, judged(hat, "Audio 1.wav").Set())
	assert.GreaterOrEqual(t, judged(hat, "Audio 1.wav").Certainty, Asked)
	assert.True(t, judged(hat, "Click.wav").Set(), "a name that says so decides")
}
