package main

import (
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
	"foldout/testdata/underrace"
)

// bassWithGuitar adopts three sheets of an engineer who has the bass with the guitars, and learns from them.
func bassWithGuitar(t *testing.T, dir, work string) string {
	t.Helper()
	args := []string{"habits", "learn"}
	for n := range 3 { // of three songs, as it were
		rows := "01 Kick,1\n02 Hat,1\n03 Bass,2\n04 Gtr,2\n05 Piano,3\n"
		table, out := filepath.Join(work, fmt.Sprintf("%d.csv", n)), filepath.Join(work, fmt.Sprintf("%d.json", n))
		require.NoError(t, os.WriteFile(table, []byte("track,pair\n"+rows), 0o666))
		_, _, err := call(t, "adopt", dir, "--sheet", table, "--out", out)
		require.NoError(t, err)
		args = append(args, out)
	}
	file := filepath.Join(work, "habits.toml")
	out, _, err := call(t, append(args, "--out", file)...)
	require.NoError(t, err)
	assert.Contains(t, out, "bass shares a pair with the electric guitars up to 3 pairs: 3 of 3 sheets\n")
	return file
}

// pairsOf is the pair of each track.
func pairsOf(doc *sheet.Sheet) map[string]int {
	at := map[string]int{}
	for n, p := range doc.Pairs {
		for _, t := range p.Tracks {
			at[strings.TrimSuffix(t.File, ".wav")] = n
		}
	}
	return at
}

func TestHabitsFoldCheckAndExplain(t *testing.T) {
	underrace.Skip(t)
	dir, work := smallSession(t), t.TempDir()
	file := bassWithGuitar(t, dir, work)
	suggest := func(name string, args ...string) (*sheet.Sheet, string) {
		out := filepath.Join(work, name)
		_, said, err := call(t, append([]string{"suggest", dir, "--pairs", "3", "--exclude", "06 Vox", "--out", out}, args...)...)
		require.NoError(t, err)
		doc, err := sheet.Load(out)
		require.NoError(t, err)
		return doc, said
	}
	plain, _ := suggest("plain.json")
	at := pairsOf(plain)
	require.NotEqual(t, at["04 Gtr"], at["03 Bass"])
	assert.Nil(t, plain.Settings.Habits)

	mine, _ := suggest("mine.json", "--habits", file)
	at = pairsOf(mine)
	assert.Equal(t, at["04 Gtr"], at["03 Bass"])
	bass := mine.Pairs[at["03 Bass"]].Tracks[0]
	assert.Equal(t, "your habit: bass shares a pair with the electric guitars up to 3 pairs: 3 of 3 sheets (common practice: apart from the electric guitars)", bass.Reasons[0].Text())
	require.NotNil(t, mine.Settings.Habits)
	assert.Equal(t, "habits.toml", mine.Settings.Habits.Name)
	assert.Equal(t, 3, mine.Settings.Habits.Sheets)

	// explain goes by the habits in the sheet, also when the file is gone
	require.NoError(t, os.Rename(file, file+".away"))
	out, _, err := call(t, "explain", filepath.Join(work, "mine.json"), "03 Bass")
	require.NoError(t, err)
	assert.Contains(t, strings.Join(strings.Fields(out), " "), "Your habit: bass shares a pair with the electric guitars up to 3 pairs: 3 of 3 sheets (common practice: apart from the electric guitars).")
	out, _, err = call(t, "explain", filepath.Join(work, "mine.json"), "03 Bass", "--habits", "none")
	require.NoError(t, err)
	assert.NotContains(t, out, "our habit")

	// in the config folder they are used and announced
	config := t.TempDir()
	t.Setenv("XDG_CONFIG_HOME", config)
	kept := filepath.Join(config, "foldout", "habits.toml")
	require.NoError(t, os.MkdirAll(filepath.Dir(kept), 0o777))
	require.NoError(t, os.Rename(file+".away", kept))
	again, said := suggest("again.json")
	assert.Equal(t, pairsOf(mine), pairsOf(again))
	assert.Contains(t, said, "folding by your habits, "+kept)
	ignored, said := suggest("ignored.json", "--habits", "none")
	assert.Equal(t, pairsOf(plain), pairsOf(ignored))
	assert.NotContains(t, said, "habits")

	// what grows from a sheet keeps its habits
	grown, _ := suggest("grown.json", "--pairs", "4", "--grow", filepath.Join(work, "mine.json"))
	assert.NotNil(t, grown.Settings.Habits)

	require.NoError(t, os.WriteFile(kept, []byte("[[height]]\nkinds = [\"Drums\"]\nheight = 1.0\n"), 0o666))
	_, _, err = call(t, "sweep", dir, "--pairs", "2..3")
	assert.ErrorContains(t, err, kept+": a height is between two kinds, not 1")
	assert.ErrorContains(t, err, "--habits none")
}

func TestLearningNeedsSheets(t *testing.T) {
	dir := smallSession(t)
	out := filepath.Join(t.TempDir(), "one.json")
	_, _, err := call(t, "suggest", dir, "--pairs", "3", "--out", out)
	require.NoError(t, err)
	_, _, err = call(t, "habits", "learn", out, out)
	assert.ErrorContains(t, err, "is named twice; one sheet counts once")
	_, _, err = call(t, "habits", "learn", filepath.Join(dir, "01 Kick.wav"))
	assert.ErrorContains(t, err, "not a sheet")
	text, _, err := call(t, "habits", "learn", out)
	require.NoError(t, err)
	assert.Contains(t, text, "# Habits of grouping, learned from 1 sheet;")
	_, said, err := call(t, "habits", "learn", out)
	require.NoError(t, err)
	assert.Contains(t, said, "is a fold of foldout's as it was made; it counts as one that you kept")
}

// A fold made by habits shows those habits again, whoever looks: it is evidence only where somebody changed it.
func TestHabitsAreNotLearnedFromThemselves(t *testing.T) {
	dir, work := smallSession(t), t.TempDir()
	file := bassWithGuitar(t, dir, work)
	echo, pinned := filepath.Join(work, "echo.json"), filepath.Join(work, "pinned.json")
	_, _, err := call(t, "suggest", dir, "--pairs", "3", "--habits", file, "--out", echo)
	require.NoError(t, err)
	_, _, err = call(t, "habits", "learn", echo)
	assert.ErrorContains(t, err, "nothing to learn from")
	_, _, err = call(t, "suggest", dir, "--pairs", "3", "--habits", file, "--pin", "05 Piano=2", "--out", pinned)
	require.NoError(t, err)
	text, said, err := call(t, "habits", "learn", echo, pinned, filepath.Join(work, "0.json"))
	require.NoError(t, err)
	assert.Contains(t, said, "echo.json was folded by habits and not changed by hand")
	assert.NotContains(t, said, "pinned.json")
	assert.Contains(t, text, "learned from 2 sheets;")
}
