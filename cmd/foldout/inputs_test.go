package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/underrace"
)

// Even --force replaces neither a track nor the sheet that is being read.
func TestWhatIsReadIsNeverWrittenOver(t *testing.T) {
	underrace.Skip(t)
	dir := smallSession(t)
	kick := filepath.Join(dir, "01 Kick.wav")
	sheet := filepath.Join(t.TempDir(), "sheet.json")
	_, _, err := call(t, "suggest", dir, "--pairs", "3", "--format", "json", "--out", sheet)
	require.NoError(t, err)
	keep := map[string][]byte{}
	for _, path := range []string{kick, sheet} {
		keep[path], err = os.ReadFile(path)
		require.NoError(t, err)
	}
	for _, args := range [][]string{
		{"suggest", dir, "--pairs", "3", "--format", "json", "--out", kick},
		{"suggest", dir, "--pairs", "3", "--html", kick},
		{"measure", dir, "--format", "json", "--out", kick},
		{"suggest", dir, "--like", sheet, "--format", "json", "--out", sheet},
		{"suggest", dir, "--pairs", "6", "--grow", sheet, "--format", "json", "--out", sheet},
		{"levels", sheet, "--format", "json", "--out", sheet},
		{"levels", sheet, "--html", sheet},
		{"patch", sheet, "--svg", sheet},
		{"report", sheet, "--html", kick},
	} {
		_, _, err := call(t, append(args, "--force")...)
		require.ErrorContains(t, err, "never write", args)
		for path, before := range keep {
			after, err := os.ReadFile(path)
			require.NoError(t, err)
			assert.Equal(t, before, after, "%s after %v", path, args)
		}
	}
	_, _, err = call(t, "suggest", dir, "--pairs", "3", "--out", "x.txt", "--html", "./x.txt")
	assert.ErrorContains(t, err, "named twice")
}

// What a command wrote it may replace when it is told to: flags that name results are no inputs.
func TestResultsAreReplacedWhenAsked(t *testing.T) {
	underrace.Skip(t)
	dir := smallSession(t)
	table := keep(t, "mine.csv", "track,pair\nKick,1\nHat,1\nBass,2\nGtr,2\nPiano,2\nVox,1\n")
	applied, compared := filepath.Join(t.TempDir(), "c.json"), filepath.Join(t.TempDir(), "r.json")
	kick := filepath.Join(dir, "01 Kick.wav")
	for range 2 {
		_, _, err := call(t, "check", dir, "--sheet", table, "--apply", applied, "--force")
		require.NoError(t, err)
		_, _, err = call(t, "compare", kick, kick, "--format", "json", "--file", compared, "--force")
		require.NoError(t, err)
	}
	_, _, err := call(t, "check", dir, "--sheet", table, "--apply", table, "--force")
	assert.ErrorContains(t, err, "never writes over what it reads")
}
