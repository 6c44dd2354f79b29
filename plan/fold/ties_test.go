package fold

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features/kinship"
	"foldout/plan/roles"
	"foldout/plan/trade"
)

// A microphone in the room hears the singer as an effect on the voice sounds; its name tells (common practice, no source).
func TestNamesThatSpeakOfDifferentSectionsUndoATie(t *testing.T) {
	names := []string{"Room L", "Lead Vox", "Plate", "Kick", "Vox Verb", "Drum Parallel", "OH L"}
	s := &Session{Hints: roles.Parse(names)}
	for i := range names {
		s.Own = append(s.Own, combine(s.Hints[i], make(Belief, len(trade.Roles)).normalise()))
	}
	for _, c := range []struct {
		a, b int
		kind kinship.Kind
		want bool
	}{
		{0, 1, kinship.Return, false},
		{2, 1, kinship.Return, true},
		{4, 1, kinship.Return, true},
		{5, 6, kinship.Sum, true},
		{5, 1, kinship.Sum, false},
		{3, 1, kinship.Copy, false},
	} {
		assert.Equal(t, c.want, s.binds(kinship.Relation{A: c.a, B: c.b, Kind: c.kind, Confidence: 0.93}), "%+v", c)
	}
	assert.True(t, s.binds(kinship.Relation{A: 3, B: 1, Kind: kinship.Identical, Confidence: 0.99}), "the same waveform under two names")
	assert.False(t, s.binds(kinship.Relation{A: 3, B: 6, Kind: kinship.Bleed, Confidence: 1}))
}

// A name that plainly says an instrument is not overruled by a link that is likely, no more (common practice, no source); a
// name that says a return is helped by one.
func TestAPlainNameIsNotOverruledByAWeakLink(t *testing.T) {
	names := []string{"FAST HATS", "KICK", "Hat Verb", "Tambourine"}
	s := &Session{Hints: roles.Parse(names)}
	for i := range names {
		s.Own = append(s.Own, combine(s.Hints[i], make(Belief, len(trade.Roles)).normalise()))
	}
	for _, c := range []struct {
		a, b int
		want bool
	}{{0, 1, false}, {2, 0, true}, {3, 1, false}} {
		for _, kind := range []kinship.Kind{kinship.Sum, kinship.Return} {
			assert.Equal(t, c.want, s.binds(kinship.Relation{A: c.a, B: c.b, Kind: kind, Confidence: 0.9}), "%s %s of %s", names[c.a], kind, names[c.b])
		}
	}
	best, _ := s.Hints[0].Best()
	assert.Equal(t, "hat", best)
}
