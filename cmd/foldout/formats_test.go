package main

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/require"

	"foldout/testdata/underrace"
)

// A session of WAV, AIFF and FLAC files folds like its twin of WAV files: ffmpeg converts without loss, so whatever is said of
// the tracks is the same to the last digit.
func TestASessionOfManyFormatsFoldsLikeItsTwin(t *testing.T) {
	underrace.Skip(t)
	ffmpeg, err := exec.LookPath("ffmpeg")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("ffmpeg is not installed, and CI=true")
		}
		t.Skip("ffmpeg is not installed")
	}
	plain, mixed := smallSession(t), t.TempDir()
	writeTrack(t, filepath.Join(plain, "07 Gtr Copy.wav"), notes(4, 330))
	entries, err := os.ReadDir(plain)
	require.NoError(t, err)
	kinds := [][]string{{".wav", "pcm_s24le"}, {".aiff", "pcm_s24be"}, {".flac", "flac"}, {".aif", "pcm_s24be"}}
	for i, e := range entries {
		kind := kinds[i%len(kinds)]
		to := filepath.Join(mixed, strings.TrimSuffix(e.Name(), ".wav")+kind[0])
		out, err := exec.Command(ffmpeg, "-v", "error", "-i", filepath.Join(plain, e.Name()), "-c:a", kind[1], to).CombinedOutput()
		require.NoError(t, err, string(out))
	}
	ending := regexp.MustCompile(`\.(wav|aiff?|flac)\b`)
	of := regexp.MustCompile(`^ *"(folder|title|sheet)":`)
	said := func(args ...string) []string {
		out, _, err := call(t, append(args, "--format", "json")...)
		require.NoError(t, err)
		lines := strings.Split(ending.ReplaceAllString(out, ""), "\n")
		return slices.DeleteFunc(lines, of.MatchString)
	}
	require.Equal(t, said("suggest", plain, "--pairs", "3"), said("suggest", mixed, "--pairs", "3"))
	// and on to the sums of the pairs
	var levels [2][]string
	for i, dir := range []string{plain, mixed} {
		sheet := filepath.Join(t.TempDir(), "sheet.json")
		_, _, err := call(t, "suggest", dir, "--pairs", "3", "--out", sheet)
		require.NoError(t, err)
		levels[i] = said("levels", sheet)
	}
	require.Equal(t, levels[0], levels[1])
}
