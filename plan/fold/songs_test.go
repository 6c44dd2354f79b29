package fold

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features"
	"foldout/plan/trade"
)

// Two songs in one folder have two lengths and two of everything; one song whose tracks were trimmed, or some of which were
// exported again with a longer tail, has not (invented sessions).
func TestTwoSongsInOneFolderAreNoticed(t *testing.T) {
	var s *Session
	add := func(folder string, seconds float64, roles ...string) {
		for _, role := range roles {
			a := &features.Analysis{}
			a.Profile.File, a.Profile.SampleRateHz, a.Profile.DurationS = fmt.Sprintf("%s/%s %d.wav", folder, role, len(s.Tracks)), 48000, seconds
			a.Profile.Frames = int64(seconds * 48000)
			b := make(Belief, len(trade.Roles))
			b[slices.Index(trade.Roles, role)] = 1
			s.Live, s.Tracks, s.Belief = append(s.Live, len(s.Tracks)), append(s.Tracks, a), append(s.Belief, b)
		}
	}
	band := []string{"kick", "snare", "hat", "bass", "electric guitar", "piano", "lead vocal"}
	s = &Session{}
	add("One", 200, band...)
	add("Two", 185.5, band...)
	assert.Contains(t, s.secondSong(), "these may be two songs: 7 tracks of 185.50 s (Two) and 7 tracks of 200.00 s (One)")

	s = &Session{}
	add("One", 200, band...)
	add("Drums", 201, "kick", "snare", "hat", "overhead", "tom", "percussion")
	assert.Empty(t, s.secondSong(), "a kit with a longer tail")

	s = &Session{}
	add("One", 200, band...)
	for n, role := range append(band, band...) {
		add("Trimmed", 100+float64(n), role)
	}
	assert.Empty(t, s.secondSong(), "each of its own length")

	s = &Session{}
	add("One", 200, "kick", "snare", "hat", "bass", "electric guitar")
	add("Late", 170, "lead vocal", "backing vocal", "strings", "horns", "piano")
	assert.Empty(t, s.secondSong(), "nothing is there twice")
}
