package main

import (
	"bytes"
	"encoding/csv"
	"encoding/json"
	"errors"
	"math"
	"math/rand/v2"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/sheet"
)

// call runs the program as a user does and returns what it printed.
func call(t *testing.T, args ...string) (stdout, stderr string, err error) {
	t.Helper()
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	root := newRoot()
	var out, bad bytes.Buffer
	root.SetOut(&out)
	root.SetErr(&bad)
	root.SetArgs(args)
	err = root.Execute()
	return out.String(), bad.String(), err
}

// writeTrack writes a mono track at 48 kHz, 24 bit.
func writeTrack(t *testing.T, path string, samples []float32) {
	t.Helper()
	require.NoError(t, os.MkdirAll(filepath.Dir(path), 0o755))
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: 48000, Channels: 1, Encoding: wavfile.PCM24}, false)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{samples}))
	require.NoError(t, w.Close())
}

// notes makes plucked tones of a fundamental, twice a second.
func notes(seconds, hz float64) []float32 {
	x := make([]float32, int(48000*seconds))
	for i := range x {
		t := float64(i) / 48000
		since := math.Mod(t, 0.5)
		for h := 1.0; h <= 4; h++ {
			x[i] += float32(0.2 / h * math.Exp(-4*h*since) * math.Sin(2*math.Pi*h*hz*t))
		}
	}
	return x
}

// ticks makes bursts of noise, four a second.
func ticks(seconds float64) []float32 {
	rng := rand.New(rand.NewPCG(1, 1))
	x := make([]float32, int(48000*seconds))
	for i := range x {
		since := math.Mod(float64(i)/48000, 0.25)
		x[i] = float32(0.3 * math.Exp(-60*since) * rng.NormFloat64() / 3)
	}
	return x
}

// smallSession writes an invented session of six tracks.
func smallSession(t *testing.T) string {
	dir := t.TempDir()
	for name, x := range map[string][]float32{
		"01 Kick.wav": notes(4, 55), "02 Hat.wav": ticks(4), "03 Bass.wav": notes(4, 82.4),
		"04 Gtr.wav": notes(4, 330), "05 Piano.wav": notes(4, 523), "06 Vox.wav": notes(4, 440),
	} {
		writeTrack(t, filepath.Join(dir, name), x)
	}
	return dir
}

func TestSuggestHoldsTheJSONContract(t *testing.T) {
	dir := smallSession(t)
	writeTrack(t, filepath.Join(dir, "Spare.wav"), make([]float32, 48000))
	out, _, err := call(t, "suggest", dir, "--pairs", "3", "--format", "json")
	require.NoError(t, err)
	var doc struct {
		Schema int
		Pairs  []struct {
			Name, Reason string
			Outputs      []int
			Tracks       []struct {
				File, Bus  string
				Reasons    []struct{ Text, Measure, Unit string }
				Confidence *float64
				RunnerUp   *string `json:"runner_up"`
			}
		}
		SetAside []struct{ File, Reason string } `json:"set_aside"`
		Figures  map[string]any
		Warnings []string
	}
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	assert.Equal(t, 3, doc.Schema)
	require.Len(t, doc.Pairs, 3)
	n := 0
	for i, p := range doc.Pairs {
		assert.Equal(t, []int{2*i + 1, 2*i + 2}, p.Outputs)
		for _, tr := range p.Tracks {
			n++
			assert.NotEmpty(t, tr.Bus)
			assert.NotEmpty(t, tr.Reasons)
			assert.NotNil(t, tr.Confidence)
			assert.NotNil(t, tr.RunnerUp)
		}
	}
	assert.Equal(t, 6, n)
	require.Len(t, doc.SetAside, 1)
	assert.Equal(t, "Spare.wav", doc.SetAside[0].File)
	assert.NotNil(t, doc.Warnings)
}

func TestMeasureHoldsTheJSONContract(t *testing.T) {
	out, _, err := call(t, "measure", smallSession(t), "--format", "json")
	require.NoError(t, err)
	var doc struct {
		Schema int
		Tracks []map[string]any
	}
	require.NoError(t, json.Unmarshal([]byte(out), &doc))
	require.Len(t, doc.Tracks, 6)
	for _, key := range []string{"file", "sample_rate_hz", "channels", "bit_depth", "duration_s", "integrated_lufs", "sample_peak_dbfs", "true_peak_dbtp",
		"rms_dbfs", "crest_db", "centroid_hz", "octave_db"} {
		assert.Contains(t, doc.Tracks[0], key)
	}
	assert.Contains(t, doc.Tracks[0]["octave_db"], "31.5")
}

func TestASheetReadsBackAndIsRepeatable(t *testing.T) {
	dir := smallSession(t)
	file := filepath.Join(t.TempDir(), "sheet.json")
	_, _, err := call(t, "suggest", dir, "--pairs", "3", "--format", "json", "--out", file)
	require.NoError(t, err)
	sheet, err := sheet.Load(file)
	require.NoError(t, err)
	assert.Equal(t, 3, sheet.Settings.Pairs)
	first, err := os.ReadFile(file)
	require.NoError(t, err)
	_, _, err = call(t, "suggest", dir, "--pairs", "3", "--format", "json", "--out", file)
	require.ErrorContains(t, err, "--force", "an existing file is never replaced")
	_, _, err = call(t, "suggest", dir, "--pairs", "3", "--format", "json", "--out", file, "--force")
	require.NoError(t, err)
	second, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, string(first), string(second))
}

func TestSuggestWritesCSV(t *testing.T) {
	out, _, err := call(t, "suggest", smallSession(t), "--pairs", "2", "--format", "csv")
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	assert.Len(t, rows, 7)
	assert.Equal(t, []string{"track", "pair", "bus"}, rows[0][:3])
}

func TestOneBrokenFileDoesNotStopTheOthers(t *testing.T) {
	dir := smallSession(t)
	require.NoError(t, os.WriteFile(filepath.Join(dir, "07 Broken.wav"), []byte("this is no audio"), 0o644))
	out, stderr, err := call(t, "suggest", dir, "--pairs", "3")
	require.ErrorIs(t, err, errPartial, "the exit status says that a file is missing")
	assert.Contains(t, stderr, "07 Broken.wav")
	assert.Contains(t, out, "01 Kick")
}

func TestOddTracksAreTaken(t *testing.T) {
	dir := smallSession(t)
	writeTrack(t, filepath.Join(dir, "one sample.wav"), []float32{0.5})
	writeTrack(t, filepath.Join(dir, "10 ms.wav"), notes(0.01, 440))
	writeTrack(t, filepath.Join(dir, "ドラム 鼓.wav"), ticks(2))
	writeTrack(t, filepath.Join(dir, "صوت.wav"), notes(2, 220))
	for _, pairs := range []string{"1", "4", "50"} {
		out, _, err := call(t, "suggest", dir, "--pairs", pairs)
		require.NoError(t, err)
		assert.Contains(t, out, "ドラム 鼓")
	}
}

func TestFaultsAreSaidInWords(t *testing.T) {
	empty, text, silent := t.TempDir(), t.TempDir(), t.TempDir()
	require.NoError(t, os.WriteFile(filepath.Join(text, "notes.txt"), []byte("x"), 0o644))
	writeTrack(t, filepath.Join(silent, "a.wav"), make([]float32, 48000))
	small := smallSession(t)
	for _, c := range []struct {
		name  string
		args  []string
		usage bool
		says  string
	}{
		{"no folder", []string{"suggest", filepath.Join(empty, "nowhere"), "-k", "4"}, false, "nowhere"},
		{"an empty folder", []string{"suggest", empty, "-k", "4"}, false, "empty"},
		{"a folder without audio", []string{"suggest", text, "-k", "4"}, false, "notes.txt"},
		{"only silence", []string{"suggest", silent, "-k", "4"}, false, "silent"},
		{"no number of pairs", []string{"suggest", small}, true, "--pairs"},
		{"no pairs", []string{"suggest", small, "-k", "0"}, true, "at least 1"},
		{"a negative number", []string{"suggest", small, "-k", "-2"}, true, "at least 1"},
		{"a format that is none", []string{"suggest", small, "-k", "4", "--format", "yaml"}, true, "json"},
		{"a flag that is none", []string{"suggest", small, "--bogus"}, true, "bogus"},
		{"a command that is none", []string{"sugest", small}, true, "suggest"},
		{"a tie to nothing", []string{"suggest", small, "-k", "4", "--tie", "01 Kick,Ghost"}, false, "Ghost"},
		{"a pin beyond the pairs", []string{"suggest", small, "-k", "4", "--pin", "01 Kick=5"}, false, "1 to 4"},
		{"tied and apart", []string{"suggest", small, "-k", "4", "--tie", "01 Kick,03 Bass", "--apart", "01 Kick,03 Bass"}, false, "contradict"},
	} {
		t.Run(c.name, func(t *testing.T) {
			_, _, err := call(t, c.args...)
			require.Error(t, err)
			var usage usageError
			assert.Equal(t, c.usage, errors.As(err, &usage), "%v", err)
			assert.Contains(t, err.Error(), c.says)
		})
	}
}

func TestTiesSplitsAndPinsAreObeyed(t *testing.T) {
	dir := smallSession(t)
	out, _, err := call(t, "suggest", dir, "-k", "3", "--format", "csv", "--tie", "01 Kick,06 Vox", "--apart", "04 Gtr,05 Piano", "--pin", "02 Hat=3")
	require.NoError(t, err)
	rows, err := csv.NewReader(strings.NewReader(out)).ReadAll()
	require.NoError(t, err)
	pair := map[string]string{}
	for _, r := range rows[1:] {
		pair[r[0]] = r[1]
	}
	assert.Equal(t, pair["01 Kick.wav"], pair["06 Vox.wav"])
	assert.NotEqual(t, pair["04 Gtr.wav"], pair["05 Piano.wav"])
	assert.Equal(t, "3", pair["02 Hat.wav"])
}
