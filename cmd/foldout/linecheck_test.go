package main

import (
	"encoding/json"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/underrace"
)

// loop plays the pairs of a folder of tones into a return by plain addition: output 3 is dead, output 2 is 4 dB low.
func loop(t *testing.T, dir string) string {
	t.Helper()
	path := filepath.Join(t.TempDir(), "return.wav")
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: 48000, Channels: 2, Encoding: wavfile.PCM24}, false)
	require.NoError(t, err)
	defer w.Abort() //nolint:errcheck // after Close it does nothing
	a, err := wavfile.Open(filepath.Join(dir, "01-02.wav"))
	require.NoError(t, err)
	defer a.Close()
	b, err := wavfile.Open(filepath.Join(dir, "03-04.wav"))
	require.NoError(t, err)
	defer b.Close()
	n := a.Info().Frames
	x, y := [][]float64{make([]float64, n), make([]float64, n)}, [][]float64{make([]float64, n), make([]float64, n)}
	_, err = a.ReadFloat64(x)
	require.NoError(t, err)
	_, err = b.ReadFloat64(y)
	require.NoError(t, err)
	for i := range x[0] {
		x[1][i] = 0.630957*x[1][i] + y[1][i]
	}
	require.NoError(t, w.WriteFloat64([][]float64{make([]float64, 12345), make([]float64, 12345)}))
	require.NoError(t, w.WriteFloat64(x))
	require.NoError(t, w.Close())
	return path
}

func TestALineCheckFromEndToEnd(t *testing.T) {
	underrace.Skip(t)
	dir := filepath.Join(t.TempDir(), "linecheck")
	out, stderr, err := call(t, "tones", "--pairs", "2", "--quick", "--out", dir)
	require.NoError(t, err)
	assert.Contains(t, stderr, "CAUTION: Turn the monitors off")
	assert.Contains(t, out, "dBFS")
	_, _, err = call(t, "tones", "--pairs", "2", "--quick", "--out", dir)
	require.ErrorContains(t, err, "--force")

	back := loop(t, dir)
	kept, page := filepath.Join(t.TempDir(), "kept.json"), filepath.Join(t.TempDir(), "unit.html")
	_, _, err = call(t, "trace", back, "--tones", dir, "--format", "json", "--out", kept, "--html", page)
	require.ErrorIs(t, err, errFaults)
	text, err := os.ReadFile(kept)
	require.NoError(t, err)
	var doc struct {
		Channels []struct {
			Output int
			Alive  *bool
			GainDB *float64 `json:"gain_db"`
		}
		LatencySamples float64 `json:"latency_samples"`
		Verdicts       []struct {
			Severity string
			Output   *int
		}
	}
	require.NoError(t, json.Unmarshal(text, &doc))
	assert.InDelta(t, 12345, doc.LatencySamples, 0.02)
	assert.InDelta(t, -4, *doc.Channels[1].GainDB, 0.01)
	assert.False(t, *doc.Channels[2].Alive)
	faults := map[int]bool{}
	for _, v := range doc.Verdicts {
		if v.Severity == "fault" {
			faults[*v.Output] = true
		}
	}
	assert.Equal(t, map[int]bool{2: true, 3: true}, faults)
	html, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.Contains(t, string(html), "Output 3 is dead")

	out, _, err = call(t, "trace", back, "--tones", dir, "--baseline", kept)
	require.ErrorIs(t, err, errFaults)
	assert.Contains(t, out, "Nothing moved")
	assert.Contains(t, out, "Output 2 arrives 4.0 dB low")

	for _, list := range [][]string{{"tones"}, {"tones", "--out", "x"}, {"tones", "--pairs", "0", "--out", "x"}, {"tones", "--pairs", "2", "--rate", "1", "--out", "x"},
		{"trace", back}, {"trace", "--tones", dir}, {"trace", back, "--tones", dir, "--tolerance", "0"}, {"trace", back, "--tones", dir, "--format", "xml"}} {
		_, _, err := call(t, list...)
		var usage usageError
		assert.ErrorAs(t, err, &usage, "%v", list)
	}
	_, _, err = call(t, "trace", back, "--tones", t.TempDir())
	require.ErrorContains(t, err, "foldout tones")
	_, _, err = call(t, "trace", back, "--tones", dir, "--baseline", filepath.Join(dir, "tones.json"))
	require.ErrorContains(t, err, "no result of foldout trace")
}
