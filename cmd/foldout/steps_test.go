package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
	"foldout/plan/steps"
	"foldout/testdata/underrace"
)

// sheetAndRig folds the small session onto two pairs of an invented rig.
func sheetAndRig(t *testing.T) (doc, rig string) {
	t.Helper()
	dir := t.TempDir()
	doc, rig = filepath.Join(dir, "song.json"), filepath.Join(dir, "studio.toml")
	_, _, err := call(t, "suggest", smallSession(t), "--pairs", "2", "--out", doc)
	require.NoError(t, err)
	_, _, err = call(t, "rig", "new", "--out", rig, "--outputs", "6", "--monitor", "5/6", "--inputs", "4", "--summing", "4", "--return", "3/4")
	require.NoError(t, err)
	return doc, rig
}

func TestStepsOnTheCommandLine(t *testing.T) {
	doc, rig := sheetAndRig(t)
	dir := filepath.Dir(doc)
	for _, columns := range []string{"80", "120"} {
		t.Setenv("COLUMNS", columns)
		out, _, err := call(t, "steps", doc, "--rig", rig)
		require.NoError(t, err)
		for _, want := range []string{"16 steps", "16. Export", "CAUTION", "[ ] ", "outputs 5/6", "inputs 3/4", "Recall sheet", "________"} {
			assert.Contains(t, out, want)
		}
		for _, line := range strings.Split(out, "\n") {
			assert.LessOrEqual(t, len([]rune(line)), map[string]int{"80": 80, "120": 120}[columns], line)
		}
	}
	page, list := filepath.Join(dir, "page.html"), filepath.Join(dir, "list.json")
	_, _, err := call(t, "steps", doc, "--rig", rig, "--out", list, "--html", page)
	require.NoError(t, err)
	data, err := os.ReadFile(list)
	require.NoError(t, err)
	var got steps.List
	require.NoError(t, json.Unmarshal(data, &got))
	assert.Len(t, got.Steps, 16)

	// The levels are those that the command levels prints.
	out, _, err := call(t, "levels", doc, "--rig", rig, "--format", "json")
	require.NoError(t, err)
	var l struct {
		Pairs []struct {
			VULoud float64 `json:"vu_loud"`
			Trim   struct {
				GainDB float64 `json:"gain_db"`
			}
		}
		Common struct {
			GainDB float64 `json:"gain_db"`
		} `json:"common_trim"`
	}
	require.NoError(t, json.Unmarshal([]byte(out), &l))
	for n, p := range got.Pairs {
		assert.InDelta(t, l.Pairs[n].VULoud, float64(p.Meter.AsExported.VULoud), 1e-9)
		assert.InDelta(t, l.Pairs[n].Trim.GainDB, p.Meter.OwnDB, 1e-9)
		assert.InDelta(t, l.Common.GainDB, p.Meter.BalanceDB, 0.006, "one interface: the common trim")
	}
	_, _, err = call(t, "steps", doc, "--rig", rig, "--html", page)
	assert.ErrorContains(t, err, "exists")
	second := filepath.Join(dir, "second.html")
	out, _, err = call(t, "steps", doc, "--rig", rig, "--out", second)
	require.NoError(t, err)
	assert.Contains(t, out, "16 steps", "the page stands beside the text on the screen")
	assert.FileExists(t, second)
}

func TestNotesStayInTheSheet(t *testing.T) {
	underrace.Skip(t)
	doc, rig := sheetAndRig(t)
	before, err := sheet.Load(doc)
	require.NoError(t, err)
	out, said, err := call(t, "steps", doc, "--rig", rig, "--note", "drive at 3\x1b[31m", "--note", "air switch in")
	require.NoError(t, err)
	assert.Contains(t, said, "keeps the note")
	assert.Contains(t, out, "air switch in")
	assert.NotContains(t, out, "\x1b")
	after, err := sheet.Load(doc)
	require.NoError(t, err)
	require.Len(t, after.Notes, 2)
	assert.Regexp(t, `^\d{4}-\d{2}-\d{2}$`, after.Notes[0].Date)
	assert.Equal(t, "air switch in", after.Notes[1].Text)
	after.Notes = nil
	assert.Equal(t, before, after, "nothing else changed")
	_, _, err = call(t, "rename", doc, "--title", "Other")
	require.NoError(t, err)
	out, _, err = call(t, "steps", doc, "--rig", rig, "--sheet-only")
	require.NoError(t, err)
	assert.Contains(t, out, "drive at 3", "printed next time, and renaming keeps it")
	assert.Contains(t, out, "foldout levels")

	// What makes a sheet of this one keeps them, too.
	dir, folder := filepath.Dir(doc), after.Folder
	for _, args := range [][]string{
		{"check", folder, "--sheet", doc, "--apply", filepath.Join(dir, "mended.json")},
		{"adopt", folder, "--sheet", doc, "--out", filepath.Join(dir, "mine.json")},
		{"suggest", folder, "--pairs", "3", "--grow", doc, "--out", filepath.Join(dir, "grown.json")},
	} {
		_, _, err = call(t, args...)
		require.NoError(t, err, args)
		made, err := sheet.Load(args[len(args)-1])
		require.NoError(t, err)
		require.Len(t, made.Notes, 2, args)
		assert.Equal(t, "air switch in", made.Notes[1].Text)
	}

	// The sheet is kept as it is where nothing is to be noted, and where the rig does not fit.
	data, err := os.ReadFile(doc)
	require.NoError(t, err)
	var usage usageError
	for _, args := range [][]string{{"--note", " "}, {"--note", strings.Repeat("x", 1001)}, {"--format", "csv"}, {"--format", "xml"}} {
		_, _, err = call(t, append([]string{"steps", doc, "--rig", rig}, args...)...)
		assert.ErrorAs(t, err, &usage, args)
	}
	_, _, err = call(t, "steps", doc, "--rig", rig, "--note", "x", "--baseline", doc)
	assert.ErrorContains(t, err, "no result of foldout trace")
	_, _, err = call(t, "steps", doc, "--rig", filepath.Join(filepath.Dir(doc), "gone.toml"), "--note", "x")
	assert.ErrorContains(t, err, "gone.toml")
	_, _, err = call(t, "steps", doc, "--rig", rig, "--out", doc, "--force")
	assert.Error(t, err, "an input is never written over")
	_, _, err = call(t, "steps", doc, "--rig", rig, "--folder", filepath.Join(filepath.Dir(doc), "gone"))
	assert.ErrorContains(t, err, "--sheet-only")
	same, err := os.ReadFile(doc)
	require.NoError(t, err)
	assert.Equal(t, data, same)
}
