package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/fold"
)

func TestHostileNamesStayTextEverywhere(t *testing.T) {
	dir := t.TempDir()
	writeTrack(t, filepath.Join(dir, "Kick\x1b[31m\nIn.wav"), notes(2, 55))
	writeTrack(t, filepath.Join(dir, "Vox\x1b]0;x\x07.wav"), notes(2, 440))
	require.NoError(t, os.WriteFile(filepath.Join(dir, "Bad\x1b[2J.wav"), []byte("no audio"), 0o644))
	sheet := filepath.Join(t.TempDir(), "sheet.json")
	_, _, err := call(t, "suggest", dir, "--pairs", "2", "--format", "json", "--out", sheet)
	require.ErrorIs(t, err, errPartial)
	for _, args := range [][]string{{"measure", dir}, {"suggest", dir, "--pairs", "2"}, {"suggest", dir, "--pairs", "2", "--why"}, {"sweep", dir, "--pairs", "1..2"},
		{"check", dir, "--sheet", sheet}, {"explain", sheet}, {"explain", sheet, "1"}, {"levels", sheet}, {"patch", sheet}} {
		out, bad, err := call(t, args...)
		if err != nil {
			require.ErrorIs(t, err, errPartial, args[0])
		}
		assert.NotContains(t, out+bad, "\x1b", args)
		assert.NotContains(t, out+bad, "\x07", args)
	}
}

func TestResultsGoOnlyWhereNothingIs(t *testing.T) {
	dir := t.TempDir()
	file := filepath.Join(dir, "there.txt")
	require.NoError(t, os.WriteFile(file, []byte("mine"), 0o644))
	assert.NoError(t, free(false, "", filepath.Join(dir, "new.txt"), os.DevNull))
	assert.ErrorContains(t, free(false, "", file), "exists")
	assert.NoError(t, free(true, file))
	assert.ErrorContains(t, free(true, dir), "is a folder")

	_, _, err := call(t, "measure", filepath.Join(dir, "no such folder"), "--out", file)
	assert.ErrorContains(t, err, "there.txt exists", "said before any work is done")
	_, _, err = call(t, "measure", smallSession(t), "--out", filepath.Join(dir, "nowhere", "x.txt"))
	assert.ErrorContains(t, err, "x.txt: no such file or directory")
	_, _, err = call(t, "measure", smallSession(t), "--force", "--out", os.DevNull)
	require.NoError(t, err)
	st, err := os.Stat(os.DevNull)
	require.NoError(t, err)
	assert.False(t, st.Mode().IsRegular(), "a device is written to, not replaced")
}

func TestUnfitChoicesAreWrongUsage(t *testing.T) {
	dir := smallSession(t)
	for _, args := range [][]string{{"--pin", "Tuba=1"}, {"--pin", "Kick"}, {"--tie", "Kick"}, {"--apart", "Kick,kick"}} {
		_, _, err := call(t, append([]string{"suggest", dir, "--pairs", "3"}, args...)...)
		var option *fold.OptionError
		assert.ErrorAs(t, err, &option, args)
	}
	var usage usageError
	_, _, err := call(t, "suggest", dir, "--pairs", "1000000")
	assert.ErrorAs(t, err, &usage)
	_, _, err = call(t, "suggest", dir, "--pairs", "3", "--pin", "Vox=3", "--apart", "Bass,Kick")
	assert.NoError(t, err, "numbers in front of names need not be typed")
}

func TestHelpShowsSwitchesAsSwitches(t *testing.T) {
	out, _, err := call(t, "suggest", "--help")
	require.NoError(t, err)
	assert.Contains(t, out, "--ears-only ")
	assert.Contains(t, out, "--out FILE ")
	assert.NotContains(t, out, "true|false")
}
