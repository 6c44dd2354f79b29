package trace

import (
	"context"
	"encoding/json"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/linecheck/simulate"
	"foldout/plan/linecheck/tones"
	"foldout/testdata/underrace"
)

// planOf is the plan of quick tones for so many pairs.
func planOf(pairs, rate int) *tones.Plan {
	p := tones.ForPairs(pairs)
	p.RateHz, p.Quick = rate, true
	p.Frames = p.Program().Frames
	return p
}

// record passes the tones through a chain into a file; more adds seconds at the end, or takes them off.
func record(t testing.TB, p *tones.Plan, c simulate.Chain, more float64, e wavfile.Encoding) string {
	t.Helper()
	var sources []simulate.Source
	for i := range p.Sends {
		sources = append(sources, p.Sound(i))
	}
	return recordFrom(t, p, c, sources, more, e)
}

// recordFrom is record with sources of one's own.
func recordFrom(t testing.TB, p *tones.Plan, c simulate.Chain, sources []simulate.Source, more float64, e wavfile.Encoding) string {
	t.Helper()
	c.RateHz = p.RateHz
	for len(c.Paths) < len(p.Sends) {
		c.Paths = append(c.Paths, simulate.Path{})
	}
	path := filepath.Join(t.TempDir(), "return.wav")
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: p.RateHz, Channels: 2, Encoding: e}, false)
	require.NoError(t, err)
	defer w.Abort() //nolint:errcheck // after Close it does nothing
	require.NoError(t, c.Run(sources, p.Frames+int64(more*float64(p.RateHz)), w.WriteFloat64))
	require.NoError(t, w.Close())
	return path
}

// The JSON that others read holds these keys, and null where a figure does not exist.
func TestJSONHoldsTheContract(t *testing.T) {
	p := planOf(1, 48000)
	path := record(t, p, simulate.Chain{Latency: 1234.25, NoiseDBFS: -95, CrosstalkDB: -80, Paths: []simulate.Path{{}, {Dead: true}}}, 0.5, wavfile.PCM24)
	r, err := Trace(context.Background(), path, p, Options{})
	require.NoError(t, err)
	text, err := json.Marshal(r)
	require.NoError(t, err)
	var doc map[string]any
	require.NoError(t, json.Unmarshal(text, &doc))
	for _, key := range []string{"channels", "latency_samples", "drift_ppm", "hum", "clipped_samples", "complete", "verdicts"} {
		assert.Contains(t, doc, key)
	}
	alive, dead := doc["channels"].([]any)[0].(map[string]any), doc["channels"].([]any)[1].(map[string]any)
	for _, key := range []string{"output", "alive", "side", "polarity", "gain_db", "delay_samples", "thd_percent", "thdn_percent", "noise_dbfs", "noise_dbfs_a", "crosstalk_db", "response"} {
		assert.Contains(t, alive, key)
		assert.NotNil(t, alive[key], key)
	}
	assert.Equal(t, false, dead["alive"])
	assert.Nil(t, dead["gain_db"])
	assert.Nil(t, doc["hum"])
	assert.True(t, r.Faulty())
	assert.InDelta(t, 1234.25, doc["latency_samples"], 0.02)
}

func TestTheBaselineSaysWhatMoved(t *testing.T) {
	underrace.Skip(t)
	p := planOf(1, 48000)
	run := func(c simulate.Chain) *Result {
		r, err := Trace(context.Background(), record(t, p, c, 0.5, wavfile.PCM24), p, Options{})
		require.NoError(t, err)
		return r
	}
	first := run(simulate.Chain{NoiseDBFS: -90, Seed: 1})
	same := run(simulate.Chain{NoiseDBFS: -90, Seed: 2, Latency: 800})
	same.Compare(first)
	assert.Equal(t, []string{"Nothing moved beyond what this check varies by itself."}, same.Moved)
	text, err := json.Marshal(first)
	require.NoError(t, err)
	kept := &Result{}
	require.NoError(t, json.Unmarshal(text, kept))
	other := run(simulate.Chain{NoiseDBFS: -80, Seed: 3, Paths: []simulate.Path{{GainDB: -0.5}, {Dead: true}}})
	other.Compare(kept)
	assert.Contains(t, other.Moved, "Output 1 moved by -0.50 dB, to -0.50 dB.")
	assert.Contains(t, other.Moved, "Output 2 is dead now.")
	assert.Contains(t, other.Moved, "Noise moved by +10.0 dB, to -80.3 dBFS.")
}
