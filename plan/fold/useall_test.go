package fold

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestUseAllLeavesNoPairFree(t *testing.T) {
	count := map[string]int{"kick": 3, "snare": 2, "bass": 1, "electric guitar": 6, "lead vocal": 2}
	s := pure(t, rand.New(rand.NewPCG(1, 2)), count)
	g, err := s.Fold(8)
	require.NoError(t, err)
	doc, err := s.Sheet(g)
	require.NoError(t, err)
	free := 0
	for _, p := range doc.Pairs {
		if len(p.Tracks) == 0 {
			free++
			assert.Contains(t, p.Reason, "free: it would only cut the ")
			assert.Contains(t, p.Reason, "in two (--use-all does that)")
		}
	}
	assert.Positive(t, free)

	s.opt.UseAll = true
	g, err = s.Fold(8)
	require.NoError(t, err)
	doc, err = s.Sheet(g)
	require.NoError(t, err)
	assert.Equal(t, 8, doc.PairsUsed())

	g, err = s.Fold(20) // more than there are tracks
	require.NoError(t, err)
	doc, err = s.Sheet(g)
	require.NoError(t, err)
	assert.LessOrEqual(t, doc.PairsUsed(), 14)
	assert.Equal(t, "free: there are only 14 things to part, tracks that are tied counting as one", doc.Pairs[19].Reason)
}

// A name that somebody gave stays with the larger part of a pair that is split; a name from the trade goes with what it said.
func TestNamesThatSomebodyGaveSurviveASplit(t *testing.T) {
	s := pure(t, rand.New(rand.NewPCG(3, 4)), map[string]int{"kick": 3, "snare": 3, "bass": 1, "electric guitar": 2, "lead vocal": 2, "backing vocal": 3})
	s.Folder = "/songs/lamps"
	g, err := s.Fold(3)
	require.NoError(t, err)
	doc, err := s.Sheet(g)
	require.NoError(t, err)
	doc.Folder, doc.Title = s.Folder, "Paper Lamps"
	require.Equal(t, []string{"Rhythm", "Electric guitars", "Vocals"}, []string{doc.Pairs[0].Name, doc.Pairs[1].Name, doc.Pairs[2].Name})
	require.NoError(t, doc.RenamePair(3, "Choir"))
	require.NoError(t, doc.RenameBus("Drums", "Kit"))
	g, err = s.Grow(doc, 5)
	require.NoError(t, err)
	grown, err := s.Sheet(g)
	require.NoError(t, err)
	grown.Folder = s.Folder
	KeepNames(grown, doc)
	var names []string
	for _, p := range grown.Pairs {
		names = append(names, p.Name)
	}
	assert.ElementsMatch(t, []string{"Drums", "Bass", "Electric guitars", "Choir", "Lead vocals"}, names)
	assert.Equal(t, "Paper Lamps", grown.Title)
	assert.Equal(t, []string{"Kit"}, grown.Pairs[0].Buses)
	assert.Equal(t, "Kit", grown.Pairs[0].Tracks[0].Bus)

	g, err = s.Like(doc)
	require.NoError(t, err)
	like, err := s.Sheet(g)
	require.NoError(t, err)
	KeepNames(like, doc)
	assert.Equal(t, "Choir", like.Pairs[2].Name)
	assert.Equal(t, []string{"Kit", "Bass"}, like.Pairs[0].Buses)
}
