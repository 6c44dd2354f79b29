package check

import (
	"bytes"
	"encoding/json"
	"fmt"
	"math/rand/v2"
	"strings"
	"testing"

	"foldout/testdata/song"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// songHabits are folds of the song that engineers use (common practice, no source), misfits apart.
var songHabits = map[string]map[string]int{
	"bass with the drums": {"Kick In.wav": 1, "Snare Top.wav": 1, "Hat.wav": 1, "Bass DI.wav": 1, "Bass Amp.wav": 1, "Shaker.wav": 1,
		"Gtr Rhythm.wav": 2, "Gtr Lead.wav": 2, "Piano.wav": 3, "Organ.wav": 3, "Lead Vox.wav": 4, "BV 1.wav": 4},
	"bass with the guitars": {"Kick In.wav": 1, "Snare Top.wav": 1, "Hat.wav": 1, "Shaker.wav": 1, "Bass DI.wav": 2, "Bass Amp.wav": 2,
		"Gtr Rhythm.wav": 2, "Gtr Lead.wav": 2, "Piano.wav": 3, "Organ.wav": 3, "Lead Vox.wav": 4, "BV 1.wav": 4},
	"bass alone, guitars with keys": {"Kick In.wav": 1, "Snare Top.wav": 1, "Hat.wav": 1, "Shaker.wav": 1, "Bass DI.wav": 2, "Bass Amp.wav": 2,
		"Gtr Rhythm.wav": 3, "Gtr Lead.wav": 3, "Piano.wav": 3, "Organ.wav": 3, "Lead Vox.wav": 4, "BV 1.wav": 4},
}

func manualOf(at map[string]int) *sheet.Manual {
	m := &sheet.Manual{Names: make([]string, 4)}
	for track, pair := range at {
		m.Rows = append(m.Rows, sheet.ManualRow{Line: len(m.Rows) + 2, Track: track, Pair: pair})
	}
	return m
}

func moved(at map[string]int, moves map[string]int) map[string]int {
	out := map[string]int{}
	for t, p := range at {
		out[t] = p
	}
	for t, p := range moves {
		out[t] = p
	}
	return out
}

func TestGoodSheetsOfAnyHabitHaveNoMisfits(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	for habit, at := range songHabits {
		r, err := Judge(s, manualOf(at), "song.csv")
		require.NoError(t, err)
		assert.Empty(t, r.Misfits, habit)
		assert.Contains(t, r.Praise, "every track is where it belongs", habit)
		assert.Empty(t, r.Missing, habit)
		assert.Equal(t, []sheet.SetAside{{File: "Spare.wav", Kind: "silent", Certainty: 1, Reason: "silent: nothing rises above the noise floor"}}, r.SetAside)
	}
}

func TestMisplacedTracksAreFoundAndSentHome(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	at := songHabits["bass with the drums"]
	for _, moves := range []map[string]int{
		{"Snare Top.wav": 4},
		{"Lead Vox.wav": 1},
		{"Gtr Lead.wav": 4, "Hat.wav": 3},
		{"Bass Amp.wav": 3},
	} {
		r, err := Judge(s, manualOf(moved(at, moves)), "song.csv")
		require.NoError(t, err)
		require.Len(t, r.Misfits, len(moves), "%v", moves)
		for _, m := range r.Misfits {
			assert.Equal(t, moves[m.File], m.On)
			assert.Equal(t, at[m.File], m.Suggested)
			assert.NotEmpty(t, m.Reasons)
			assert.Positive(t, m.Gain, "the move makes the pairs tighter")
		}
		assert.Less(t, r.Corrected.WithinSpread, r.Manual.WithinSpread)
	}
}

func TestACopyAwayFromItsSourceIsNamed(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	r, err := Judge(s, manualOf(moved(songHabits["bass with the drums"], map[string]int{"Bass Amp.wav": 3})), "song.csv")
	require.NoError(t, err)
	require.Len(t, r.Parted, 1)
	assert.ElementsMatch(t, []string{"Bass DI.wav", "Bass Amp.wav"}, []string{r.Parted[0].File, r.Parted[0].Source})
}

// What carries the performance of a misfit shows where it belongs, and no pair with a misfit is fine.
func TestAMisfitFollowsItsKin(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	r, err := Judge(s, manualOf(moved(songHabits["bass with the guitars"], map[string]int{"Bass Amp.wav": 4})), "song.csv")
	require.NoError(t, err)
	require.Len(t, r.Misfits, 1)
	assert.Equal(t, 2, r.Misfits[0].Suggested, "where the bass's other track is")
	assert.NotEqual(t, "fine", r.Pairs[3].Verdict)
}

func TestIdlePairsAndLooseEndsAreListed(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	at := moved(songHabits["bass with the drums"], map[string]int{"Drone": 2})
	delete(at, "Organ.wav")
	m := manualOf(at)
	m.Names = append(m.Names, "", "Spare pair")
	m.Rows = append(m.Rows, sheet.ManualRow{Line: 99, Track: "kick in", Pair: 3})
	r, err := Judge(s, m, "folder/song.csv")
	require.NoError(t, err)
	assert.Equal(t, "song.csv", r.Sheet)
	assert.Equal(t, []string{"Organ.wav"}, r.Missing)
	assert.Equal(t, []string{"Drone"}, r.Unknown)
	assert.Equal(t, "idle", r.Pairs[4].Verdict)
	assert.Equal(t, "Spare pair", r.Pairs[5].Name)
	assert.True(t, strings.Contains(strings.Join(r.Notes, "\n"), "sound twice"), "%v", r.Notes)

	_, err = Judge(s, manualOf(map[string]int{"Nobody": 1}), "song.csv")
	assert.ErrorContains(t, err, "places none of")
}

func TestCheckDoesNotDependOnTheOrderOfRows(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	m := manualOf(moved(songHabits["bass with the drums"], map[string]int{"Gtr Lead.wav": 4, "Hat.wav": 3}))
	first, err := Judge(s, m, "song.csv")
	require.NoError(t, err)
	rand.New(rand.NewPCG(1, 1)).Shuffle(len(m.Rows), func(a, b int) { m.Rows[a], m.Rows[b] = m.Rows[b], m.Rows[a] })
	second, err := Judge(s, m, "song.csv")
	require.NoError(t, err)
	a, err := json.Marshal(first)
	require.NoError(t, err)
	b, err := json.Marshal(second)
	require.NoError(t, err)
	assert.True(t, bytes.Equal(a, b))
	assert.Contains(t, string(a), `"misfits":[{"file":`)
}

// A lone drum track on a pair of its own, the rest of the kit elsewhere: the pair would come free (common practice, no
// source).
func TestAPairThatHoldsNothingOfItsOwnWouldComeFree(t *testing.T) {
	s := prepareSong(t, fold.Options{Pairs: 4, Seed: 1})
	at := moved(songHabits["bass with the drums"], map[string]int{"Piano.wav": 2, "Organ.wav": 2, "Snare Top.wav": 3})
	r, err := Judge(s, manualOf(at), "song.csv")
	require.NoError(t, err)
	require.NotEmpty(t, r.Misfits)
	assert.Equal(t, "Snare Top.wav", r.Misfits[0].File, "the surest")
	assert.Equal(t, 1, r.Misfits[0].Suggested)
	assert.Equal(t, "mixed", r.Pairs[2].Verdict)
	assert.Contains(t, r.Pairs[2].Text, "would come free")
	assert.Equal(t, "1 drum track", r.Pairs[2].Holds)
	assert.NotEqual(t, "Free", r.Pairs[2].Name)
	for _, m := range r.Misfits[1:] { // whoever is told to go there is told that there is room, not that a snare is like it
		assert.Equal(t, 3, m.Suggested)
		assert.NotContains(t, fmt.Sprint(m.Reasons), "closer to its kind")
		assert.Contains(t, fmt.Sprint(m.Reasons), "pair 3 comes free")
	}
}

// prepareSong prepares the plain song of the tests.
func prepareSong(t testing.TB, opt fold.Options) *fold.Session {
	t.Helper()
	tracks, kin := song.Plain(t)
	opt.Kin = kin
	s, err := fold.Prepare("/songs/Harbour Lights", tracks, opt)
	require.NoError(t, err)
	return s
}
