package workbench

import (
	"encoding/binary"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"net/http"
	"net/url"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/underrace"
)

func escape(s string) string { return url.QueryEscape(s) }

// get asks for a range of bytes, or all with from < 0.
func (o *onServer) get(t testing.TB, path string, from, to int64) (int, http.Header, []byte) {
	t.Helper()
	req, err := http.NewRequest("GET", o.address+path, nil)
	require.NoError(t, err)
	if from >= 0 {
		req.Header.Set("Range", fmt.Sprintf("bytes=%d-%d", from, to))
	}
	res, err := http.DefaultClient.Do(req)
	require.NoError(t, err)
	defer res.Body.Close()
	data, err := io.ReadAll(res.Body)
	require.NoError(t, err)
	return res.StatusCode, res.Header, data
}

func ask[T any](t testing.TB, o *onServer, path string) (out T) {
	t.Helper()
	status, _, data := o.get(t, path, -1, 0)
	require.Equal(t, 200, status, "%s", data)
	require.NoError(t, json.Unmarshal(data, &out))
	return out
}

// mixOf asks for the sum of tracks.
func (o *onServer) mixOf(t testing.TB, files ...string) string {
	t.Helper()
	var out struct {
		IDs    []string `json:"ids"`
		Frames int64    `json:"frames"`
	}
	require.Equal(t, 200, o.post(t, "mix", map[string]any{"mixes": [][]string{files}}, &out))
	require.Len(t, out.IDs, 1)
	return out.IDs[0]
}

// samples reads a mono file.
func samples(t testing.TB, path string) []float32 {
	t.Helper()
	r, err := wavfile.Open(path)
	require.NoError(t, err)
	defer r.Close()
	x := make([]float32, r.Info().Frames)
	_, err = r.Read([][]float32{x})
	require.NoError(t, err)
	return x
}

// Any range of the stream is the sum of the tracks, each centred at -3 dB (sqrt(1/2) to each side), computed here by hand.
func TestTheStreamIsTheSum(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	kick, bass := samples(t, filepath.Join(dir, "Kick In.wav")), samples(t, filepath.Join(dir, "Bass DI.wav"))
	id := o.mixOf(t, "Kick In.wav", "Bass DI.wav")
	for _, span := range [][2]int64{{0, 100}, {1, 20000}, {300001, 40000}, {5, 3}, {575000, 1000}, {123456, 8192 * 3}} {
		status, head, data := o.get(t, "sound/"+id, 8*span[0], 8*(span[0]+span[1])-1)
		require.Equal(t, http.StatusPartialContent, status)
		assert.Equal(t, fmt.Sprintf("bytes %d-%d/%d", 8*span[0], 8*(span[0]+span[1])-1, 8*len(kick)), head.Get("Content-Range"))
		require.Len(t, data, int(8*span[1]))
		for i := range span[1] {
			want := math.Sqrt(0.5) * (float64(kick[span[0]+i]) + float64(bass[span[0]+i]))
			for side := range int64(2) {
				got := math.Float32frombits(binary.LittleEndian.Uint32(data[8*i+4*side:]))
				require.InDelta(t, want, float64(got), 1e-6, "frame %d", span[0]+i)
			}
		}
	}
	status, _, odd := o.get(t, "sound/"+id, 13, 29) // a range need not begin at a frame
	require.Equal(t, http.StatusPartialContent, status)
	_, _, even := o.get(t, "sound/"+id, 8, 31)
	assert.Equal(t, even[5:22], odd)
	status, _, _ = o.get(t, "sound/"+id, int64(8*len(kick)), int64(8*len(kick))+7)
	assert.Equal(t, http.StatusRequestedRangeNotSatisfiable, status)
}

func TestTheOverviewHoldsTheExtremes(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	kick := samples(t, filepath.Join(dir, "Kick In.wav"))
	id := o.mixOf(t, "Kick In.wav")
	status, _, data := o.get(t, fmt.Sprintf("overview/%s?from=48000&to=144000&parts=96", id), -1, 0)
	require.Equal(t, 200, status)
	require.Len(t, data, 192)
	for part := range 96 {
		var low, high float64
		for _, v := range kick[48000+1000*part : 48000+1000*(part+1)] {
			low, high = min(low, float64(v)*math.Sqrt(0.5)), max(high, float64(v)*math.Sqrt(0.5))
		}
		assert.InDelta(t, low, float64(int8(data[2*part]))/127, 0.005)
		assert.InDelta(t, high, float64(int8(data[2*part+1]))/127, 0.005)
	}
	for _, q := range []string{"", "?from=0&to=1&parts=x", "?from=0&to=0&parts=5", "?from=0&to=10&parts=-1", "?from=0&to=10&parts=9999999999"} {
		status, _, _ := o.get(t, "overview/"+id+q, -1, 0)
		assert.GreaterOrEqual(t, status, 400, q)
	}
}

// Moments of a sine of amplitude a are a^2/2, 0 and 3a^4/8 (its integrals over a period).
func TestMomentsOfASine(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "Sine")
	require.NoError(t, os.Mkdir(dir, 0o777))
	x := make([]float32, 3*48000)
	for i := range x {
		x[i] = float32(0.5 * math.Sin(2*math.Pi*1000*float64(i)/48000))
	}
	w, err := wavfile.Create(filepath.Join(dir, "Organ.wav"), wavfile.Format{SampleRateHz: 48000, Channels: 2, Encoding: wavfile.Float32}, false)
	require.NoError(t, err)
	require.NoError(t, w.Write([][]float32{x, x}))
	require.NoError(t, w.Close())
	o := start(t, Options{Pairs: 1}, dir)
	var m Moments
	require.Equal(t, 200, o.post(t, "moments", map[string]string{"mix": o.mixOf(t, "Organ.wav")}, &m))
	assert.InDelta(t, 0.125, m.M2, 1e-6)
	assert.InDelta(t, 0, m.M3, 1e-6)
	assert.InDelta(t, 3*math.Pow(0.5, 4)/8, m.M4, 1e-6)
	assert.InDelta(t, 0.5, m.Peak, 1e-6)
}

func TestOnlyTheSessionIsHeard(t *testing.T) {
	dir := songFolder(t)
	outside := filepath.Join(filepath.Dir(dir), "secret.wav")
	require.NoError(t, os.Rename(filepath.Join(dir, "Hat.wav"), outside))
	if err := os.Symlink(outside, filepath.Join(dir, "Hat.wav")); err != nil {
		t.Skip("no links here: ", err)
	}
	o := start(t, Options{}, dir)
	assert.Contains(t, o.bench.state().Session.Mute, "Hat.wav is a link that leads out of the folder")
	assert.Contains(t, o.refused(t, "mix", map[string]any{"mixes": [][]string{{"Hat.wav"}}}), "leads out")

	p := start(t, Options{}, songFolder(t))
	for _, f := range []string{"../secret.wav", "/etc/passwd", "", "none.wav"} {
		p.refused(t, "mix", map[string]any{"mixes": [][]string{{f}}})
	}
	status, _, _ := p.get(t, "sound/none", 0, 10)
	assert.Equal(t, 404, status)
}

// A file that is cut while it is heard ends the stream; the program goes on.
func TestAFileChangesUnderTheListener(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	id := o.mixOf(t, "Hat.wav")
	require.NoError(t, os.Truncate(filepath.Join(dir, "Hat.wav"), 1000))
	req, err := http.NewRequest("GET", o.address+"sound/"+id, nil)
	require.NoError(t, err)
	req.Header.Set("Range", "bytes=0-799999")
	res, err := http.DefaultClient.Do(req)
	if err == nil {
		data, err := io.ReadAll(res.Body)
		res.Body.Close()
		assert.True(t, err != nil || res.StatusCode >= 400 || len(data) < 800000, "a stream that could not be read came whole")
	}
	assert.Equal(t, 4, len(o.bench.state().Session.Lanes))
}

// The stems that the page writes add up to the tracks.
func TestStemsAddUp(t *testing.T) {
	underrace.Skip(t)
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	require.Equal(t, 200, o.post(t, "stems", struct{}{}, nil))
	st := o.wait(t, "stems are written", func(st *State) bool { return st.Session.Stems != nil && st.Session.Stems.Over })
	require.Empty(t, st.Session.Stems.Fault)
	stems, err := filepath.Glob(filepath.Join(st.Session.Stems.Dir, "*.wav"))
	require.NoError(t, err)
	require.Len(t, stems, st.Session.Stems.Files)
	sum := make([]float64, 12*48000)
	for _, path := range stems {
		r, err := wavfile.Open(path)
		require.NoError(t, err)
		left, right := make([]float32, len(sum)), make([]float32, len(sum))
		_, err = r.Read([][]float32{left, right})
		require.NoError(t, err)
		require.NoError(t, r.Close())
		for i, v := range left {
			sum[i] += float64(v)
		}
	}
	tracks, err := filepath.Glob(filepath.Join(dir, "*.wav"))
	require.NoError(t, err)
	for _, path := range tracks {
		for i, v := range samples(t, path) {
			sum[i] -= math.Sqrt(0.5) * float64(v)
		}
	}
	var rest float64
	for _, v := range sum {
		rest = max(rest, math.Abs(v))
	}
	assert.Less(t, rest, 1e-5, "the residual of the null test")
	require.Equal(t, 200, o.post(t, "stems", struct{}{}, nil))
	st = o.wait(t, "written again", func(st *State) bool { return st.Session.Stems.Over })
	assert.Equal(t, filepath.Join(filepath.Dir(dir), "Small Song stems 2"), st.Session.Stems.Dir, "what is there is never replaced")
}

func TestDocumentsToTakeAway(t *testing.T) {
	underrace.Skip(t)
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	for name, want := range map[string]string{"sheet.json": `"schema"`, "sheet.csv": "track,pair,bus", "report.html": "<!DOCTYPE html>", "patch.svg": "<svg", "labels.csv": "pair", "rig.toml": "[summing]"} {
		status, head, data := o.get(t, "take/"+name, -1, 0)
		require.Equal(t, 200, status, "%s: %s", name, data)
		assert.Contains(t, string(data), want, name)
		assert.Contains(t, head.Get("Content-Disposition"), "Small Song", name)
	}
	status, head, _ := o.get(t, "take/report.html?show=1", -1, 0)
	assert.Equal(t, 200, status)
	assert.NotContains(t, head.Get("Content-Security-Policy"), "script-src 'unsafe")
	status, _, _ = o.get(t, "take/passwd", -1, 0)
	assert.Equal(t, http.StatusUnprocessableEntity, status)
	for _, part := range []string{"levels", "patch", "field", "sweep"} {
		var out struct{ HTML, Error string }
		status := o.post(t, "part", map[string]string{"name": part}, &out)
		require.Equal(t, 200, status, "%s: %s", part, out.Error)
		assert.Contains(t, out.HTML, "<section", part)
		assert.NotContains(t, out.HTML, ` style="`, part)
	}
	o.refused(t, "part", map[string]string{"name": "none"})
}
