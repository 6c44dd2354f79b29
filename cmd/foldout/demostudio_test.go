package main

import (
	"encoding/csv"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
)

// The whole loop without hardware: what the demo writes beside its folder is what the other commands take, and the line
// check finds the two planted faults and nothing else.
func TestTheDemoShowsTheWholeJob(t *testing.T) {
	if testing.Short() {
		t.Skip("performs the whole song")
	}
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	dir := filepath.Join(t.TempDir(), "lamps")
	out, _, err := call(t, "demo", "--studio", "--out", dir)
	require.NoError(t, err)
	assert.Contains(t, out, "Output 3 (Guitars left) arrives with inverted polarity")
	assert.Contains(t, out, "Output 6 (Keys and horns right) arrives 3.1 dB low")
	assert.Contains(t, out, "2 faults, 0 warnings")
	for _, name := range []string{"-mix.wav", "-print.wav", "-return.wav"} {
		r, err := wavfile.Open(dir + name)
		require.NoError(t, err)
		assert.Equal(t, 2, r.Info().Channels, name)
		require.NoError(t, r.Close())
	}
	table, err := os.Open(dir + "-by-hand.csv")
	require.NoError(t, err)
	defer table.Close()
	rows, err := csv.NewReader(table).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, 33)
	out, _, err = call(t, "check", dir, "--sheet", dir+"-by-hand.csv")
	require.NoError(t, err)
	for _, m := range misplaced {
		assert.Contains(t, out, m.track)
	}
	assert.Equal(t, 1, strings.Count(out, "2 misfits"), out)
	sheet := dir + ".json"
	_, _, err = call(t, "suggest", dir, "--pairs", "4", "--out", sheet)
	require.NoError(t, err)
	out, _, err = call(t, "stems", sheet, "--out", dir+"-stems", "--against", dir+"-mix.wav")
	require.NoError(t, err, out)
}
