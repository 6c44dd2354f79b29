package main

import (
	"encoding/csv"
	"encoding/json"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/patch"
	"foldout/plan/sheet"
)

// inventedSheet has two pairs.
func inventedSheet() *sheet.Sheet {
	return &sheet.Sheet{Schema: sheet.SchemaVersion, Title: "Song", Pairs: []sheet.Pair{
		{Name: "Rhythm", Outputs: [2]int{1, 2}, Tracks: []sheet.Placement{{File: "Kick.wav", Bus: "Drums", Measured: sheet.Measured{CentroidHz: 90, CrestDB: 18}}}},
		{Name: "Vocals", Outputs: [2]int{3, 4}, Tracks: []sheet.Placement{{File: "Vox.wav", Bus: "Lead vocals", Measured: sheet.Measured{CentroidHz: 1200, CrestDB: 14}}}},
	}}
}

// saveSheet writes the invented sheet.
func saveSheet(t *testing.T) string {
	t.Helper()
	data, err := json.Marshal(inventedSheet())
	require.NoError(t, err)
	path := filepath.Join(t.TempDir(), "song.json")
	require.NoError(t, os.WriteFile(path, data, 0o600))
	return path
}

func TestPatchWritesEveryFormat(t *testing.T) {
	sheet, studio := saveSheet(t), "../../examples/rigs/8-outputs.toml"
	out, _, err := runRig("", "patch", sheet, "--rig", studio)
	require.NoError(t, err)
	assert.Contains(t, out, "P2 R | out 6 > in 4 | Vocals")
	assert.Contains(t, out, patch.Cautions[3][:40])

	out, _, err = runRig("", "patch", sheet, "--rig", studio, "--format", "csv")
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, 1+4+2)

	svg := filepath.Join(t.TempDir(), "p.svg")
	out, _, err = runRig("", "patch", sheet, "--rig", studio, "--format", "json", "--svg", svg)
	require.NoError(t, err)
	var p patch.Patch
	require.NoError(t, json.Unmarshal([]byte(out), &p))
	assert.Len(t, p.Lanes, 2)
	assert.FileExists(t, svg)
}

func TestPatchWithoutARigSaysSo(t *testing.T) {
	out, errOut, err := runRig("", "patch", saveSheet(t))
	require.NoError(t, err)
	assert.Contains(t, errOut, "no --rig given")
	assert.Contains(t, out, "no rig was given")
}

func TestPatchRefuses(t *testing.T) {
	sheet := saveSheet(t)
	_, _, err := runRig("", "patch", sheet, "--format", "pdf")
	var usage usageError
	assert.ErrorAs(t, err, &usage)
	_, _, err = runRig("", "patch")
	assert.ErrorAs(t, err, &usage)
	_, _, err = runRig("", "patch", sheet, "--rig", "no-such.toml")
	assert.ErrorContains(t, err, "no-such.toml")
	small := filepath.Join(t.TempDir(), "small.toml")
	require.NoError(t, os.WriteFile(small, []byte("[[interface]]\nline_outputs = 2\n[summing]\ninputs = 2\n"), 0o600))
	_, _, err = runRig("", "patch", sheet, "--rig", small)
	assert.ErrorContains(t, err, "the sheet has 2 pairs with tracks, but this rig has only 1 free")
}
