package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
)

// What the shell asks: the hidden command __complete of cobra.
func TestTheShellCompletesFromWhatIsAtHand(t *testing.T) {
	dir, work := t.TempDir(), t.TempDir()
	for _, name := range []string{"01 Kick.wav", "02 Bells, high.wav", "a/Vox.wav", "b/Vox.wav"} {
		writeTrack(t, filepath.Join(dir, filepath.FromSlash(name)), make([]float32, 10))
	}
	doc := sheet.Sheet{Schema: sheet.SchemaVersion, Pairs: []sheet.Pair{
		{Name: "Rhythm", Buses: []string{"Drums"}, Tracks: []sheet.Placement{{File: "01 Kick.wav", Bus: "Drums"}}},
		{Name: "Vocals", Buses: []string{"Lead vocals"}, Tracks: []sheet.Placement{{File: "a/Vox.wav", Bus: "Lead vocals"}}},
	}}
	saved := filepath.Join(work, "song.json")
	f, err := os.Create(saved)
	require.NoError(t, err)
	require.NoError(t, writeJSON(f, &doc))
	require.NoError(t, f.Close())
	rigFile := filepath.Join(work, "studio.toml")
	_, _, err = call(t, "rig", "new", "--out", rigFile, "--outputs", "10", "--monitor", "9/10", "--inputs", "8", "--summing", "8", "--return", "1/2")
	require.NoError(t, err)
	for _, c := range []struct {
		typed []string
		want  []string
	}{
		{[]string{"suggest", dir, "--exclude", ""}, []string{"01 Kick", "02 Bells, high", "a/Vox.wav", "b/Vox.wav"}},
		{[]string{"suggest", dir, "--tie", `01 Kick,`}, []string{"01 Kick,01 Kick", `01 Kick,"02 Bells, high"`, "01 Kick,a/Vox.wav", "01 Kick,b/Vox.wav"}},
		{[]string{"suggest", dir, "--pin", "01"}, []string{"01 Kick=", "02 Bells, high=", "a/Vox.wav=", "b/Vox.wav="}},
		{[]string{"suggest", dir, "--pairs", "3", "--pin", "01 Kick="}, []string{"01 Kick=1", "01 Kick=2", "01 Kick=3"}},
		{[]string{"suggest", dir, "--rig", rigFile, "--pin", "01 Kick="}, []string{"01 Kick=1", "01 Kick=2", "01 Kick=3", "01 Kick=4"}},
		{[]string{"suggest", dir, "--format", ""}, []string{"text", "json", "csv"}},
		{[]string{"check", dir, "--format", ""}, []string{"text", "json"}},
		{[]string{"suggest", ""}, nil},
		{[]string{"stems", saved, "--bits", ""}, []string{"auto", "24", "16", "float"}},
		{[]string{"rename", saved, "--pair", ""}, []string{"1=\tRhythm", "2=\tVocals"}},
		{[]string{"rename", saved, "--bus", ""}, []string{"Drums=\tpair 1", "Lead vocals=\tpair 2"}},
		{[]string{"explain", saved, ""}, []string{"01 Kick", "Vox", "1\tRhythm", "2\tVocals"}},
		{[]string{"explain", ""}, []string{"json"}},
		{[]string{"suggest", dir, "--habits", "n"}, []string{"none"}},
		{[]string{"levels", saved, "--rig", ""}, []string{"toml"}},
	} {
		out, _, err := call(t, append([]string{"__complete"}, c.typed...)...)
		require.NoError(t, err, c.typed)
		lines := strings.Split(strings.TrimSpace(out), "\n")
		var got []string
		if len(lines) > 1 {
			got = lines[:len(lines)-1]
		}
		assert.Equal(t, c.want, got, c.typed)
		assert.Regexp(t, `^:\d+$`, lines[len(lines)-1])
	}
}
