package fold

import (
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features"
	"foldout/plan/roles"
)

// Left and right of one name belong on one pair: common practice, no source.
func TestTheTwoSidesOfANameAreTied(t *testing.T) {
	for _, c := range []struct {
		names []string
		ties  int
	}{
		{[]string{"Gtr L.wav", "Gtr R.wav", "Bass.wav"}, 1},
		{[]string{"Choir Altos Left", "Choir Altos Right", "Choir Tenors Left", "Choir Tenors Right"}, 2},
		{[]string{"Gtr L 1", "Gtr R 1", "Gtr L 2", "Gtr R 2"}, 0}, // which left goes with which right is not said
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
