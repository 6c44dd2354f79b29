package trace

import (
	"context"
	"encoding/json"
	"os"
	"path/filepath"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/linecheck/simulate"
	"foldout/plan/linecheck/tones"
)

// planOf is the plan of quick tones for so many pairs.
func planOf(pairs, rate int) *tones.Plan {
	p := tones.ForPairs(pairs)
	p.RateHz, p.Quick = rate, true
	p.Frames = p.Program().Frames
	return p
}

// record passes the tones through a chain into a file; cut takes seconds off the end, more adds them.
func record(t testing.TB, p *tones.Plan, c simulate.Chain, more float64, e wavfile.Encoding) string {
	t.Helper()
	c.RateHz = p.RateHz
	var sources []simulate.Source
	for i := range p.Sends {
		sources = append(sources, p.Sound(i))
	}
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

func TestAPerfectLoop(t *testing.T) {
	p := planOf(2, 48000)
	start := time.Now()
	path := record(t, p, simulate.Chain{Latency: 1234.25, NoiseDBFS: -95, CrosstalkDB: -80}, 0.5, wavfile.PCM24)
	t.Log("simulated", time.Since(start), p.Program().Seconds())
	start = time.Now()
	r, err := Trace(context.Background(), path, p, Options{})
	require.NoError(t, err)
	t.Log("traced", time.Since(start))
	if os.Getenv("SHOW") != "" {
		for i := range r.Channels {
			t.Log(r.Channels[i].Response[:3])
			r.Channels[i].Response, r.Channels[i].Harmonics = nil, nil
		}
		b, _ := json.MarshalIndent(r, "", " ")
		t.Log(string(b))
	}
	assert.False(t, r.Faulty())
}
