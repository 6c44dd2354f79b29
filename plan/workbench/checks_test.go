package workbench

import (
	"context"
	"math"
	"net/http"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/linecheck/simulate"
	"foldout/plan/linecheck/tones"
	"foldout/plan/linecheck/trace"
	"foldout/plan/rig"
)

// done waits until a job is over and returns what went wrong.
func (o *onServer) done(t testing.TB, name string) string {
	t.Helper()
	fault := ""
	o.wait(t, name+" is over", func(st *State) bool {
		for _, j := range st.Session.Jobs {
			if j.Name == name && j.Over {
				fault = j.Fault
				return true
			}
		}
		return false
	})
	return fault
}

// recordReturn passes a folder of tones through an invented loop, as a recorder on its return would hear them.
func recordReturn(t testing.TB, dir, path string, chain func(plan *tones.Plan) *simulate.Chain) {
	t.Helper()
	plan, err := tones.LoadPlan(dir)
	require.NoError(t, err)
	var files []string
	for _, f := range plan.Files() {
		files = append(files, filepath.Join(dir, f))
	}
	sources, frames, err := simulate.Files(files)
	require.NoError(t, err)
	require.NoError(t, chain(plan).Record(context.Background(), sources, frames+int64(plan.RateHz), path, wavfile.PCM24))
}

// The faults that are planted in the invented loop are those that the page shows, at the outputs where they are; a second
// run after the repair is compared with the first; and the channel that is heard has the harmonics of the one that was
// planted: a sine of peak a through y = x + s x^2 + c x^3 has a second harmonic of s a/2 and a third of c a^2/4 over its
// fundamental (power series).
func TestLineCheckOnThePage(t *testing.T) {
	if testing.Short() {
		t.Skip("reads two recordings")
	}
	dir := songFolder(t)
	o := start(t, Options{Pairs: 2}, dir)
	assert.Contains(t, o.refused(t, "line/tones", map[string]any{"level_db": 0, "quick": true}), "cautions")
	require.Equal(t, 200, o.post(t, "line/tones", map[string]any{"level_db": 0, "quick": true, "careful": true}, nil))
	require.Empty(t, o.done(t, "tones"))
	v := o.bench.state().Session.Line
	require.Len(t, v.Sets, 1)
	set := v.Sets[0]
	assert.Equal(t, 4, set.Outputs)
	assert.Equal(t, filepath.Join(filepath.Dir(dir), "Small Song line check"), set.Dir)
	_, err := os.Stat(filepath.Join(set.Dir, tones.CautionsFile))
	require.NoError(t, err)

	const second, third = 0.02, -0.03
	path := filepath.Join(t.TempDir(), "return.wav")
	loop := func(faulty bool) func(*tones.Plan) *simulate.Chain {
		return func(p *tones.Plan) *simulate.Chain {
			c := &simulate.Chain{RateHz: p.RateHz, Latency: 700, NoiseDBFS: -100, Seed: 3}
			for n := range p.Sends {
				c.Paths = append(c.Paths, simulate.Path{Second: second, Third: third})
				if faulty && n == 2 {
					c.Paths[n].Invert = true
				}
				if faulty && n == 3 {
					c.Paths[n].Dead = true
				}
			}
			return c
		}
	}
	recordReturn(t, set.Dir, path, loop(true))
	require.Equal(t, 200, o.post(t, "line/read", map[string]string{"set": set.Name, "path": path}, nil))
	require.Empty(t, o.done(t, "trace"))
	shown := o.bench.state().Session.Line.Shown
	require.NotNil(t, shown)
	require.Len(t, shown.Outputs, 4)
	assert.Equal(t, trace.Fault, shown.Outputs[2].Severity)
	assert.Contains(t, strings.Join(shown.Outputs[2].Texts, " "), "polarity")
	assert.Equal(t, trace.Fault, shown.Outputs[3].Severity)
	for _, n := range []int{0, 1} {
		assert.NotEqual(t, trace.Fault, shown.Outputs[n].Severity, "%v", shown.Outputs[n].Texts)
	}
	var part struct{ HTML string }
	require.Equal(t, 200, o.post(t, "line/part", struct{}{}, &part))
	assert.Contains(t, part.HTML, "<polyline", "curves")
	assert.NotContains(t, part.HTML, "<!DOCTYPE")

	mended := filepath.Join(t.TempDir(), "mended.wav")
	recordReturn(t, set.Dir, mended, loop(false))
	require.Equal(t, 200, o.post(t, "line/read", map[string]string{"set": set.Name, "path": mended, "baseline": set.Name + "/" + shown.Name}, nil))
	require.Empty(t, o.done(t, "trace"))
	st := o.bench.state().Session
	assert.Zero(t, st.Line.Shown.Faults)
	moved := strings.Join(st.Line.Shown.Moved, "\n")
	assert.Contains(t, moved, "alive now")
	assert.Contains(t, moved, "of normal polarity now")
	assert.Len(t, st.Line.Sets[0].Results, 2, "both are kept")

	require.NotNil(t, st.Unit)
	require.Empty(t, st.Unit.Why)
	peak := math.Pow(10, rig.DefaultAlignment.DBFS/20)
	assert.InDelta(t, 20*math.Log10(second*peak/2), st.Unit.SecondDB, 0.7)
	assert.InDelta(t, 20*math.Log10(-third*peak*peak/4), st.Unit.ThirdDB, 1.5)

	// a program that starts again shows the last result; the earlier one can be looked at
	p := start(t, Options{}, dir)
	assert.Equal(t, st.Line.Shown.Name, p.bench.state().Session.Line.Shown.Name)
	require.Equal(t, 200, p.post(t, "line/show", map[string]string{"name": set.Name + "/" + shown.Name}, nil))
	assert.Equal(t, 2, p.bench.state().Session.Line.Shown.Faults)
	p.refused(t, "line/show", map[string]string{"name": set.Name + "/../../x"})
	p.refused(t, "line/read", map[string]string{"set": "../x", "path": path})
	require.Equal(t, 200, p.post(t, "line/read", map[string]string{"set": set.Name, "path": filepath.Join(dir, "Hat.wav")}, nil))
	assert.Contains(t, p.done(t, "trace"), "does not hold", "a recording of something else is refused with words")
}

// A print that is 2 dB down and 137 samples late is found so; its passage can be listened to blind.
func TestPrintCheckOnThePage(t *testing.T) {
	if testing.Short() {
		t.Skip("compares two recordings")
	}
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	paths, err := filepath.Glob(filepath.Join(dir, "*.wav"))
	require.NoError(t, err)
	const late = 137
	mix := make([]float32, late+12*48000)
	for _, p := range paths {
		for i, v := range samples(t, p) {
			mix[late+i] += float32(0.2*math.Sqrt(0.5)*math.Pow(10, -2.0/20)) * v
		}
	}
	printed := filepath.Join(filepath.Dir(dir), "print.wav")
	w, err := wavfile.Create(printed, wavfile.Format{SampleRateHz: 48000, Channels: 2, Encoding: wavfile.Float32}, false)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{mix, mix}))
	require.NoError(t, w.Close())

	l := ask[listing](t, o, "folders?files=audio&at=")
	require.Len(t, l.Files, 1, "beside the session, where a print is looked for first")
	assert.Equal(t, printed, l.Files[0].Path)
	assert.Contains(t, o.refused(t, "print/compare", map[string]string{}), "print")
	assert.Contains(t, o.refused(t, "print/excerpt", map[string]float64{"from_s": -1}), "compare")
	status, _, _ := o.get(t, "blind/", -1, 0)
	assert.Equal(t, 404, status)
	require.Equal(t, 200, o.post(t, "print/compare", map[string]string{"print": printed}, nil))
	require.Empty(t, o.done(t, "compare"))
	v := o.bench.state().Session.Print
	require.NotNil(t, v.Result)
	assert.InDelta(t, late, v.Result.DelaySamples, 0.05)
	assert.InDelta(t, -2+20*math.Log10(0.2), v.Result.GainDB, 0.02)
	require.Equal(t, 200, o.post(t, "print/excerpt", map[string]float64{"from_s": -1}, nil))
	require.Empty(t, o.done(t, "excerpt"))
	v = o.bench.state().Session.Print
	require.Len(t, v.Excerpts, 1)
	assert.Equal(t, "excerpt", v.Blind)
	status, head, page := o.get(t, "blind/", -1, 0)
	assert.Equal(t, 200, status)
	assert.Contains(t, string(page), "Blind test")
	assert.Contains(t, head.Get("Content-Security-Policy"), "default-src 'none'")
	status, head, _ = o.get(t, "blind/audio/a.wav", 0, 99)
	assert.Equal(t, http.StatusPartialContent, status)
	assert.Equal(t, "audio/wav", head.Get("Content-Type"))
	o.refused(t, "print/listen", map[string]string{"name": "../Small Song"})

	p := start(t, Options{}, dir)
	w2 := p.bench.state().Session.Print
	require.NotNil(t, w2.Result, "what was found is kept")
	assert.Len(t, w2.Excerpts, 1)
	require.Equal(t, 200, p.post(t, "print/listen", map[string]string{"name": "excerpt"}, nil))
	status, _, _ = p.get(t, "blind/", -1, 0)
	assert.Equal(t, 200, status)
	require.Equal(t, 200, p.post(t, "print/compare", map[string]string{"print": filepath.Join(dir, "Spare.wav")}, nil))
	assert.NotEmpty(t, p.done(t, "compare"))
}
