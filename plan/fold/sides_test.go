package fold

import (
	"bytes"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/roles"
	"foldout/plan/trade"
)

// Left and right of one name belong on one pair: common practice, no source.
func TestTheTwoSidesOfANameAreTied(t *testing.T) {
	for _, c := range []struct {
		names []string
		ties  int
	}{
		{[]string{"Gtr L.wav", "Gtr R.wav", "Bass.wav"}, 1},
		{[]string{"Choir Altos Left", "Choir Altos Right", "Choir Tenors Left", "Choir Tenors Right"}, 2},
		{[]string{"Gtr L 1", "Gtr R 1", "Gtr L 2", "Gtr R 2"}, 2},
		{[]string{"Gtr L 1", "Gtr R 2", "Gtr L 3", "Gtr R 4"}, 0}, // which left goes with which right is not said
		{[]string{"Gtr L", "Gtr"}, 0},
		{[]string{"Gtr L", "Gtr Verb R"}, 0},
		{[]string{"Audio 01", "Audio 02"}, 0},
	} {
		s := &Session{Hints: roles.Parse(c.names)}
		for i, n := range c.names {
			s.Live = append(s.Live, i)
			s.Tracks = append(s.Tracks, &features.Analysis{Profile: features.Profile{File: n}})
		}
		s.tieSides()
		assert.Len(t, s.Ties, c.ties, "%v", c.names)
		s.tieSides()
		assert.Len(t, s.Ties, c.ties, "a pair that is tied is not tied again: %v", c.names)
	}
}

// Two overheads of which the waveforms say with 56 % that they are sides, and a guitar that was played twice: without names, both
// are told by company. Names that plainly say guitars and no side speak against it; and what binds already stays as it is.
func TestSidesAreToldByCompany(t *testing.T) {
	session := func(names ...string) *Session {
		s := &Session{Hints: make([]roles.Hint, len(names)), Kin: Kin{
			{A: 0, B: 1, Kind: kinship.Sides, Sides: 0.5, Confidence: 0.56},
			{A: 2, B: 3, Kind: kinship.Double, Confidence: 0.98},
		}}
		for i, role := range []string{"overhead", "overhead", "electric guitar", "electric guitar", "bass"} {
			b := make(Belief, len(trade.Roles))
			for r := range b {
				b[r] = 0.02 / float64(len(b))
			}
			b[trade.RoleIndex[role]] += 0.98
			a := &features.Analysis{Profile: features.Profile{Channels: 1, ActiveRMSDBFS: features.DB(-20 - 0.2*float64(i%2))}}
			for o := range a.Profile.OctaveDB {
				a.Profile.OctaveDB[o] = features.DB(-10 - 3*min(i/2, o))
			}
			a.Sketch = kinship.Sketch{HopSeconds: 0.5, Envelope: bytes.Repeat([]uint8{180}, 24*20)} // ten seconds of sound at -25 dB
			s.Own, s.Live, s.Tracks = append(s.Own, b), append(s.Live, i), append(s.Tracks, a)
		}
		copy(s.Hints, roles.Parse(names))
		return s
	}
	s := session("Audio 1", "Audio 2", "Audio 3", "Audio 4", "Audio 5")
	s.findSides()
	s.tie(s.Kin)
	assert.Len(t, s.Ties, 2)
	for _, tie := range s.Ties {
		assert.Equal(t, kinship.Sides, tie.Relation.Kind)
		assert.GreaterOrEqual(t, tie.Relation.Confidence, kinship.Binds)
		why := TieReason(tie, "Audio", true)
		assert.Equal(t, "left and right of one part with Audio", why.Fact)
		assert.Regexp(t, `^sound together throughout, 0\.2 dB and in no octave more than 0\.0 dB apart$`, why.Detail)
	}
	s = session("OH floor", "OH crash", "Crunch Gtr", "Crunch Gtr dbl", "Bass")
	s.findSides()
	assert.NotContains(t, s.sides, [2]int{2, 3})
	s = session("Audio 1", "Audio 2", "Audio 3", "Audio 4", "Audio 5")
	s.Kin[0].Confidence, s.Kin[0].Sides = 0.99, 0.99
	s.findSides()
	assert.NotContains(t, s.sides, [2]int{0, 1})
	assert.Contains(t, s.sides, [2]int{2, 3})
}
