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
	"foldout/testdata/underrace"
)

// A grouping typed in a spreadsheet goes to levels, patch, stems and report, and keeps its names and places.
func TestAGroupingByHandIsASheetLikeAnyOther(t *testing.T) {
	underrace.Skip(t)
	dir := smallSession(t)
	work := t.TempDir()
	table := filepath.Join(work, "mine.csv")
	require.NoError(t, os.WriteFile(table, []byte("track,pair\n01 Kick,1\n02 Hat,1\n03 Bass,2\n04 Gtr,2\n05 Piano,2\n06 Vox,1\n"), 0o666))
	out := filepath.Join(work, "mine.json")
	_, _, err := call(t, "adopt", dir, "--sheet", table, "--out", out)
	require.NoError(t, err)
	doc, err := sheet.Load(out)
	require.NoError(t, err)
	require.Len(t, doc.Pairs, 2)
	assert.ElementsMatch(t, []string{"01 Kick.wav", "02 Hat.wav", "06 Vox.wav"}, filesOn(doc, 0))
	assert.Equal(t, "mine.csv", doc.Settings.Adopted)
	for _, p := range doc.Pairs {
		for _, track := range p.Tracks {
			assert.NotEmpty(t, track.Reasons, track.File)
			assert.NotEmpty(t, track.Bus, track.File)
		}
	}
	_, _, err = call(t, "rename", out, "--pair", "1=Beat and voice", "--title", "Lamps")
	require.NoError(t, err)
	doc, err = sheet.Load(out)
	require.NoError(t, err)
	assert.Equal(t, "Beat and voice", doc.Pairs[0].Name)
	assert.Equal(t, "Lamps", doc.Title)
	for _, args := range [][]string{
		{"levels", out}, {"patch", out}, {"report", out, "--html", filepath.Join(work, "r.html")},
		{"stems", out, "--out", filepath.Join(work, "stems")},
	} {
		_, _, err := call(t, args...)
		require.NoError(t, err, args)
	}
	grown := filepath.Join(work, "grown.json")
	_, _, err = call(t, "suggest", dir, "--pairs", "3", "--grow", out, "--out", grown)
	require.NoError(t, err)
	doc, err = sheet.Load(grown)
	require.NoError(t, err)
	var names []string
	for _, p := range doc.Pairs {
		names = append(names, p.Name)
	}
	assert.Contains(t, names, "Beat and voice")
}

func filesOn(doc *sheet.Sheet, pair int) (files []string) {
	for _, t := range doc.Pairs[pair].Tracks {
		files = append(files, t.File)
	}
	return files
}

func TestTracksThatATableLeavesOut(t *testing.T) {
	dir := smallSession(t)
	table := filepath.Join(t.TempDir(), "mine.csv")
	require.NoError(t, os.WriteFile(table, []byte("track,pair\n01 Kick,1\n02 Hat,1\n03 Bass,1\n04 Gtr,2\n05 Piano,2\n"), 0o666))
	out, _, err := call(t, "adopt", dir, "--sheet", table, "--format", "json")
	require.NoError(t, err)
	var doc sheet.Sheet
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.Len(t, doc.SetAside, 1)
	assert.Equal(t, "06 Vox.wav", doc.SetAside[0].File)
	assert.Equal(t, "excluded", doc.SetAside[0].Kind)
	assert.Contains(t, doc.SetAside[0].Reason, "mine.csv leaves it out")
	out, _, err = call(t, "adopt", dir, "--sheet", table, "--fill", "--format", "json")
	require.NoError(t, err)
	doc = sheet.Sheet{}
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	assert.Empty(t, doc.SetAside)
	assert.Equal(t, 6, len(doc.Pairs[0].Tracks)+len(doc.Pairs[1].Tracks))
}

func TestExcludeAndInclude(t *testing.T) {
	dir := smallSession(t)
	out, _, err := call(t, "suggest", dir, "--pairs", "2", "--exclude", "*hat*", "--format", "json")
	require.NoError(t, err)
	var doc sheet.Sheet
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.Len(t, doc.SetAside, 1)
	assert.Equal(t, sheet.SetAside{File: "02 Hat.wav", Kind: "excluded", Certainty: 1, Reason: "you excluded it (*hat*)"}, doc.SetAside[0])
	assert.Equal(t, []string{"*hat*"}, doc.Settings.Exclude)
	_, _, err = call(t, "suggest", dir, "--pairs", "2", "--exclude", "nothing*")
	assert.ErrorContains(t, err, "names no file")
	_, _, err = call(t, "suggest", dir, "--pairs", "2", "--exclude", "[")
	assert.ErrorContains(t, err, "no pattern")
	out, _, err = call(t, "suggest", dir, "--pairs", "2", "--exclude", "*", "--include", "0[1-4]*", "--format", "json")
	require.NoError(t, err)
	doc = sheet.Sheet{}
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	assert.Len(t, doc.SetAside, 2)
}

func TestTablesWithSlips(t *testing.T) {
	dir := smallSession(t)
	table := filepath.Join(t.TempDir(), "mine.csv")
	require.NoError(t, os.WriteFile(table, []byte("Datei;Paar\n01 Kick;1\n02 Hatt;1\n03 Bass;1\n04 Gtr;2\n05 Piano;2\n06 Vox;Paar 3\n"), 0o666))
	_, said, err := call(t, "adopt", dir, "--sheet", table, "--fill")
	require.NoError(t, err)
	assert.Contains(t, said, `mine.csv: line 3: no track is called "02 Hatt"; did you mean "02 Hat"?`)
	assert.Equal(t, 1, strings.Count(said, "02 Hatt"), "one slip, one sentence")
	_, _, err = call(t, "adopt", dir, "--sheet", dir)
	assert.ErrorContains(t, err, dir+" is a folder; want a table")
	out, _, err := call(t, "check", dir, "--sheet", table, "--pairs", "5")
	require.NoError(t, err)
	assert.Contains(t, out, `did you mean "02 Hat"?`)
	_, _, err = call(t, "check", dir, "--sheet", table, "--pairs", "2")
	assert.ErrorContains(t, err, "line 7: 06 Vox is on pair 3, and there are 2")
	_, _, err = call(t, "adopt", dir, "--sheet", table, "--pairs", "0")
	assert.ErrorAs(t, err, new(usageError))
}
