package fold

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features/kinship"
	"foldout/plan/roles"
	"foldout/plan/trade"
)

// of is a belief in one role, with a little left for all others.
func of(role string) Belief {
	b := make(Belief, len(trade.Roles))
	for r := range b {
		b[r] = 0.02 / float64(len(b))
	}
	b[trade.RoleIndex[role]] += 0.98
	return b
}

// The same waveforms are a copy outside of a kit and bleed within it. Probabilities are invented; what is to come out is common practice:
// a bass and its fuzz belong together, the microphones above and below a snare are tracks of their own.
func TestCopiesAndBleedAreToldByWhatTheTracksAre(t *testing.T) {
	open := make(Belief, len(trade.Roles)).normalise()
	for _, c := range []struct {
		name  string
		a, b  Belief
		r     kinship.Relation
		kind  kinship.Kind
		binds bool
	}{
		{"two basses", of("bass"), of("bass"), kinship.Relation{Kind: kinship.Bleed, Confidence: 0.54, Copy: 0.46, Bleed: 0.54}, kinship.Copy, true},
		{"two snares", of("snare"), of("snare"), kinship.Relation{Kind: kinship.Bleed, Confidence: 0.54, Copy: 0.46, Bleed: 0.54}, kinship.Bleed, false},
		{"two snares, rather a copy", of("snare"), of("snare"), kinship.Relation{Kind: kinship.Copy, Confidence: 0.93, Copy: 0.93, Bleed: 0.07}, kinship.Copy, false},
		{"two snares, surely a copy", of("snare"), of("snare"), kinship.Relation{Kind: kinship.Processed, Confidence: 0.995, Copy: 0.995, Bleed: 0.005}, kinship.Processed, true},
		{"two snares, one sound", of("snare"), of("snare"), kinship.Relation{Kind: kinship.Copy, Coherence: 0.9995, Confidence: 0.6, Copy: 0.6, Bleed: 0.4}, kinship.Copy, true},
		{"a guitar and a voice", of("electric guitar"), of("lead vocal"), kinship.Relation{Kind: kinship.Copy, Confidence: 0.77, Copy: 0.77, Bleed: 0.23}, kinship.Copy, false},
		{"two pads of one chord", of("synth"), of("synth"), kinship.Relation{Kind: kinship.Copy, Confidence: 0.887, Copy: 0.887}, kinship.Copy, false},
		{"nobody knows what", open, open, kinship.Relation{Kind: kinship.Copy, Confidence: 0.95, Copy: 0.95, Bleed: 0.05}, kinship.Copy, true},
		{"no copy, but sides", of("snare"), of("snare"), kinship.Relation{Kind: kinship.Sides, Confidence: 0.9}, kinship.Sides, true},
	} {
		c.r.B = 1
		given := Kin{c.r}
		s := &Session{Hints: make([]roles.Hint, 2), Own: []Belief{c.a, c.b}, Kin: given}
		s.stateCopies()
		assert.Equal(t, c.kind, s.Kin[0].Kind, c.name)
		assert.Equal(t, c.binds, s.binds(s.Kin[0]), "%s: %.3f", c.name, s.certainty(s.Kin[0]))
		assert.Equal(t, c.r, given[0], "what was given stays as it was")
		once := slices.Clone(s.Kin)
		s.stateCopies()
		assert.Equal(t, once, s.Kin, "nothing is weighed twice: %s", c.name)
	}
}

// Another performance stays one, as sure as the waveforms are of it.
func TestADoubleIsNotWeighedAsACopy(t *testing.T) {
	double := kinship.Relation{B: 1, Kind: kinship.Double, Confidence: 0.97, Copy: 0.02, Bleed: 0.01}
	for _, role := range []string{"electric guitar", "tom"} {
		s := &Session{Hints: make([]roles.Hint, 2), Own: []Belief{of(role), of(role)}, Kin: Kin{double}}
		s.stateCopies()
		assert.Equal(t, Kin{double}, s.Kin, role)
	}
}

// Ears in doubt do not speak against a copy; sure ones do, in either order of the two tracks, and so do names.
func TestSectionsSpeakWhereTheyAreKnown(t *testing.T) {
	prior := make(Belief, len(trade.Roles)) // what one knows of a track without having heard it
	for r, section := range sectionOf {
		prior[r] = sectionShare[section]
		var many float64
		for _, o := range sectionOf {
			if o == section {
				many++
			}
		}
		prior[r] /= many
	}
	assert.InDelta(t, 1, oneSection(prior, prior), 1e-9)
	assert.InDelta(t, 1, oneSection(prior, of("bass")), 0.15, "of one track alone little follows")
	assert.InDelta(t, 1, oneSection(of("bass"), of("bass")), 1e-9)
	apart := oneSection(of("bass"), of("lead vocal"))
	assert.Less(t, apart, 0.2)
	assert.InDelta(t, apart, oneSection(of("lead vocal"), of("bass")), 1e-9)
	assert.Less(t, knownSection(prior, prior), 0.7, "of names it has to be known")
}
