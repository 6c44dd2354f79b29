package main

import (
	"encoding/json"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/underrace"
)

// printed writes a mix of noise bursts and its print, 480 samples later and 3 dB softer.
func printed(t *testing.T) (mix, print string) {
	t.Helper()
	dir := t.TempDir()
	rng := rand.New(rand.NewPCG(5, 6))
	const n = 6 * 48000
	x := [][]float32{make([]float32, n), make([]float32, n)}
	for i := range x[0] {
		e := math.Exp(-float64(i%17000) / 5000)
		m, s := rng.NormFloat64(), rng.NormFloat64()
		x[0][i], x[1][i] = float32(0.05*e*(m+0.5*s)), float32(0.05*e*(m-0.5*s))
	}
	y := [][]float32{make([]float32, n+480), make([]float32, n+480)}
	g := float32(math.Pow(10, -3.0/20))
	for c := range y {
		for i, v := range x[c] {
			y[c][i+480] = g * v
		}
	}
	mix, print = filepath.Join(dir, "mix.wav"), filepath.Join(dir, "print.wav")
	for path, p := range map[string][][]float32{mix: x, print: y} {
		w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: 48000, Channels: 2, Encoding: wavfile.PCM24}, false)
		require.NoError(t, err)
		require.NoError(t, w.Write(p))
		require.NoError(t, w.Close())
	}
	return mix, print
}

func TestCompareOnTheCommandLine(t *testing.T) {
	underrace.Skip(t)
	mix, print := printed(t)
	ab := filepath.Join(t.TempDir(), "ab")
	out, _, err := call(t, "compare", mix, print, "--format", "json", "--out", ab, "--length", "3")
	require.NoError(t, err)
	var got struct {
		Delay    float64 `json:"delay_samples"`
		Gain     float64 `json:"gain_db"`
		Polarity string
		Drift    float64 `json:"drift_ppm"`
		Swapped  bool
		Left     float64 `json:"linear_residual_db"`
		Bands    []struct {
			Hz, DB float64
			CI     float64 `json:"ci_db"`
		}
		Claims []struct {
			Claim, Verdict string
			Figures        []any
		}
	}
	require.NoError(t, json.Unmarshal([]byte(out), &got))
	assert.InDelta(t, 480, got.Delay, 0.01)
	assert.InDelta(t, -3, got.Gain, 0.01)
	assert.Equal(t, "normal", got.Polarity)
	assert.Zero(t, got.Drift)
	assert.Less(t, got.Left, -50.0)
	assert.Greater(t, len(got.Bands), 20)
	for _, c := range got.Claims {
		assert.Contains(t, []string{"yes", "no", "unknown"}, c.Verdict, c.Claim)
	}

	// The excerpts: of one length, as loud as one another, the difference of two equal files nearly nothing.
	var e struct {
		Match float64 `json:"match_lu"`
	}
	data, err := os.ReadFile(filepath.Join(ab, "excerpt.json"))
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(data, &e))
	assert.InDelta(t, 0, e.Match, 0.1)
	before, err := os.ReadFile(filepath.Join(ab, "A.wav"))
	require.NoError(t, err)
	_, _, err = call(t, "compare", mix, print, "--out", ab)
	assert.ErrorContains(t, err, "exists; choose another folder or give --force")
	after, err := os.ReadFile(filepath.Join(ab, "A.wav"))
	require.NoError(t, err)
	assert.Equal(t, before, after)

	// Pages, and formats by extension.
	page, kept := filepath.Join(t.TempDir(), "c.html"), filepath.Join(t.TempDir(), "c.json")
	out, _, err = call(t, "compare", mix, print, "--file", page)
	require.NoError(t, err)
	assert.Contains(t, out, "480.00 samples", "the text beside the page")
	html, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.Contains(t, string(html), "480.00 samples")
	_, _, err = call(t, "compare", mix, print, "--file", kept, "--html", page)
	assert.ErrorContains(t, err, "exists")
	_, _, err = call(t, "compare", mix, print, "--file", kept)
	require.NoError(t, err)
	data, err = os.ReadFile(kept)
	require.NoError(t, err)
	assert.True(t, json.Valid(data))

	// Force does not reach the files that are compared.
	require.NoError(t, os.Rename(mix, filepath.Join(filepath.Dir(mix), "A.wav")))
	_, _, err = call(t, "compare", filepath.Join(filepath.Dir(mix), "A.wav"), print, "--out", filepath.Dir(mix), "--force")
	assert.ErrorContains(t, err, "never written over")
}

func TestCompareRefuses(t *testing.T) {
	mix, print := printed(t)
	var usage usageError
	for _, args := range [][]string{{mix}, {mix, print, "--format", "xml"}, {mix, print, "--length", "0"}, {mix, print, "--from", "-3"}} {
		_, _, err := call(t, append([]string{"compare"}, args...)...)
		assert.ErrorAs(t, err, &usage, args)
	}
	_, _, err := call(t, "compare", mix, filepath.Join(t.TempDir(), "gone.wav"))
	assert.ErrorContains(t, err, "gone.wav")
	_, _, err = call(t, "compare", mix, print, "--from", "200", "--out", filepath.Join(t.TempDir(), "x"))
	assert.ErrorContains(t, err, "is not in the print")
}

func TestListenSaysWhatItNeeds(t *testing.T) {
	empty := t.TempDir()
	_, _, err := call(t, "listen", empty, "--no-browser")
	assert.ErrorContains(t, err, "holds no A.wav; foldout compare MIX PRINT --out DIR")
	mix, _ := printed(t)
	var usage usageError
	_, _, err = call(t, "listen", mix, "--no-browser")
	assert.ErrorAs(t, err, &usage)
	_, _, err = call(t, "listen", mix, filepath.Join(empty, "gone.wav"), "--no-browser")
	assert.ErrorContains(t, err, "gone.wav")
}

// The reference encoder's files give what the plain ones give.
func TestComparePackedFiles(t *testing.T) {
	underrace.Skip(t)
	flac, err := exec.LookPath("flac")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("flac is missing")
		}
		t.Skip("flac is missing")
	}
	mix, print := printed(t)
	said, err := exec.Command(flac, "-s", print).CombinedOutput()
	require.NoError(t, err, string(said))
	packed := strings.TrimSuffix(print, ".wav") + ".flac"
	plain, _, err := call(t, "compare", mix, print, "--format", "csv")
	require.NoError(t, err)
	out, _, err := call(t, "compare", mix, packed, "--format", "csv")
	require.NoError(t, err)
	assert.Equal(t, plain, out)
	out, _, err = call(t, "compare", mix, packed)
	require.NoError(t, err)
	assert.Contains(t, out, "print.flac against mix.wav")
}
