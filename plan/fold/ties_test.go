package fold

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features/kinship"
	"foldout/plan/roles"
)

// A microphone in the room hears the singer as an effect on the voice sounds; its name tells (common practice, no source).
func TestNamesThatSpeakOfDifferentSectionsUndoATie(t *testing.T) {
	s := &Session{Hints: roles.Parse([]string{"Room L", "Lead Vox", "Plate", "Kick", "Vox Verb", "Drum Parallel", "OH L"})}
	for _, c := range []struct {
		a, b  int
		kind  kinship.Kind
		share float64
		want  bool
	}{
		{0, 1, kinship.Return, 0.55, true},
		{0, 1, kinship.Return, 0.9, false}, // a reverberator called Room
		{2, 1, kinship.Return, 0.55, false},
		{4, 1, kinship.Return, 0.55, false},
		{0, 3, kinship.Return, 0.55, false},
		{5, 6, kinship.PartOfSum, 0.5, false},
		{5, 1, kinship.PartOfSum, 0.5, true},
		{3, 1, kinship.Copy, 0.5, false}, // the same waveform under two names
	} {
		assert.Equal(t, c.want, s.namesPart(kinship.Relation{A: c.a, B: c.b, Kind: c.kind, Share: c.share}), "%+v", c)
	}
}
