package fold

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/plan/sheet"
	"foldout/testdata/underrace"
)

// What the engineer decided for a sheet holds when it grows: who takes part, who stays together, and what is pinned now. (The
// song and the choices are invented.)
func TestChoicesHoldWhenASheetGrows(t *testing.T) {
	underrace.Skip(t)
	first := Options{Pairs: 3, Seed: 1, Exclude: []string{"BV*"}, Tie: []string{"Kick In,Hat", "Piano,Lead Vox"}, Apart: []string{"Bass DI,Kick In"}}
	old, err := prepareSong(t, first).Suggest()
	require.NoError(t, err)
	old.SetAside = append(old.SetAside, sheet.SetAside{File: "Shaker.wav", Kind: "excluded", Certainty: 1, Reason: "mine.csv leaves it out"})

	next := Options{Pairs: 9, Seed: 1, UseAll: true, Pin: []string{"Lead Vox=8"}}
	next.Keep(old, true)
	s := prepareSong(t, next)
	g, err := s.Grow(old, 9)
	require.NoError(t, err)
	doc, err := s.Sheet(g)
	require.NoError(t, err)
	on := map[string]int{}
	for n, p := range doc.Pairs {
		for _, track := range p.Tracks {
			on[track.File] = n + 1
		}
	}
	assert.Equal(t, on["Kick In.wav"], on["Hat.wav"])
	assert.Equal(t, 8, on["Lead Vox.wav"])
	assert.Equal(t, 8, on["Piano.wav"])
	assert.NotEqual(t, on["Kick In.wav"], on["Bass DI.wav"])
	assert.Zero(t, on["BV 1.wav"])
	assert.Zero(t, on["Shaker.wav"])
	assert.Equal(t, []string{"BV*", "Shaker.wav"}, doc.Settings.Exclude)
	assert.Equal(t, first.Tie, doc.Settings.Tie)
	assert.Equal(t, first.Apart, doc.Settings.Apart)

	// another song keeps the patterns that name files of it, and no ties
	like := Options{Pairs: 3, Seed: 1}
	old.Settings.Exclude = append(old.Settings.Exclude, "*click*")
	like.Keep(old, false)
	s = prepareSong(t, like)
	assert.Equal(t, []string{"BV*"}, s.opt.Exclude)
	assert.Empty(t, s.opt.Tie)

	// the latest word goes first
	old.Settings.Exclude, old.Settings.Include = []string{"BV*"}, []string{"Shaker"}
	last := Options{Pairs: 3, Seed: 1, Include: []string{"BV 1"}, Exclude: []string{"Sh*"}, Apart: []string{"Kick In,Hat"}}
	last.Keep(old, true)
	s = prepareSong(t, last)
	_, aside := s.isAside(s.indexOf(t, "BV 1.wav"))
	assert.False(t, aside)
	_, aside = s.isAside(s.indexOf(t, "Shaker.wav"))
	assert.True(t, aside)
	assert.Equal(t, []string{"Piano,Lead Vox"}, s.opt.Tie)
}

// A split that the sheet itself no longer keeps is not asked for again.
func TestASplitThatSomebodyUndidIsForgotten(t *testing.T) {
	old := &sheet.Sheet{Pairs: []sheet.Pair{{Tracks: []sheet.Placement{{File: "Kick.wav"}, {File: "Bass DI.wav"}}}}}
	old.Settings.Apart = []string{"bass di,Kick"}
	var o Options
	o.Keep(old, true)
	assert.Empty(t, o.kept.Apart)
	old.Pairs = append(old.Pairs, sheet.Pair{Tracks: old.Pairs[0].Tracks[1:]})
	old.Pairs[0].Tracks = old.Pairs[0].Tracks[:1]
	o.Keep(old, true)
	assert.Equal(t, old.Settings.Apart, o.kept.Apart)
}

func (s *Session) indexOf(t *testing.T, file string) int {
	for i, f := range s.files() {
		if f == file {
			return i
		}
	}
	t.Fatal(file)
	return -1
}

// A table may centre a stereo track, which says nothing; any other pan of one is an error with its line.
func TestPansOfATableAreForMonoTracks(t *testing.T) {
	tracks := []*features.Analysis{{}, {}}
	for n, file := range []string{"Kick.wav", "Organ.wav"} {
		tracks[n].Profile.File, tracks[n].Profile.Channels = file, n+1
	}
	s := &Session{Tracks: tracks}
	table, err := sheet.ReadManual(strings.NewReader("track,pair,pan\nKick,1,L50\nOrgan,1,C\n"))
	require.NoError(t, err)
	require.NoError(t, s.FitPans(table))
	assert.InDelta(t, -0.5, *table.Rows[0].Pan, 1e-9)
	assert.Nil(t, table.Rows[1].Pan)
	table, err = sheet.ReadManual(strings.NewReader("track,pair,pan\nKick,1,\nOrgan,1,R20\n"))
	require.NoError(t, err)
	assert.ErrorContains(t, s.FitPans(table), "line 3: Organ.wav has 2 channels, and a pan is for mono tracks")
}
