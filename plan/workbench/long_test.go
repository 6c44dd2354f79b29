package workbench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/systeminfo"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/features/wavfile"
	"foldout/testdata/pages"
)

// 100 tracks of 5 minutes at 48 kHz, 24 bit: 4.3 GB that are made first. Time from a click to the first sound that the
// analyser sees, while the pairs are still being measured and afterwards, ranges that came later than they were due while it played, was switched and sought, and the private memory
// of the page's process. FOLDOUT_LONG names a folder with room, in which the tracks are kept for the next run.
func TestAHundredLongTracks(t *testing.T) {
	dir := os.Getenv("FOLDOUT_LONG")
	if dir == "" {
		t.Skip("makes 4.3 GB of tracks where FOLDOUT_LONG names a folder with room")
	}
	dir = filepath.Join(dir, "Hundred long")
	longTracks(t, dir)
	cache, err := features.OpenCache(dir + " measured")
	require.NoError(t, err)
	o := start(t, Options{Pairs: 8, Cache: cache}, "")
	require.NoError(t, o.bench.Open(dir))
	p := openTab(t, pages.Browser(t), o.address)
	p.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===100`)
	o.wait(t, "judged", func(st *State) bool { return st.Session.Misfits >= 0 })
	assert.Equal(t, "measuring", tell[string](p, `f.store.state.session.loads`))
	tell[bool](p, `(()=>{const e=f.player.engine,d=new Float32Array(4096);document.querySelector("#play").addEventListener("click",()=>{if(f.player.engine.playing)return;window.firstSound=0;const from=performance.now();
		const look=()=>{if(e.meters){e.meters[0].getFloatTimeDomainData(d);if(d.some(v=>Math.abs(v)>1e-4))return window.firstSound=performance.now()-from}setTimeout(look,5)};look()},{capture:true});return true})()`)
	listen := func(when string) {
		p.Press("#play") // by the mouse: a browser lets no script begin to play
		p.Until("there is sound", `window.firstSound`)
		first := tell[float64](p, `window.firstSound`)
		t.Logf("first sound of the mix of 100 tracks, %s: after %.0f ms", when, first)
		assert.InDelta(t, 500, first, 500, "ms: within a second, %s", when)
		p.Press("#play")
		p.Until("it stopped", `!f.player.engine.playing`)
		tell[bool](p, `f.player.seek(60).then(()=>true)`)
	}
	listen("while the pairs are measured")
	listen("elsewhere, while they are measured")
	assert.Equal(t, "measuring", tell[string](p, `f.store.state.session.loads`))
	begun := time.Now()
	p.Until("the pairs are measured", `f.store.state.session.loads===""`)
	t.Logf("the pairs were measured %.0f s later", time.Since(begun).Seconds())
	listen("once they are measured")
	p.Press("#play")
	p.Until("it plays", `f.player.engine.playing && f.player.engine.started`)
	for _, chip := range []string{"p1", "p8", "mix", "p3"} {
		p.Press(`.chip[data-to="` + chip + `"]`)
		at := tell[float64](p, `f.player.engine.position`)
		p.Until("it goes on", fmt.Sprintf(`f.player.engine.position>%f`, at+4*48000))
		t.Logf("%s: %d ranges late so far", chip, tell[int](p, `f.player.engine.late`))
	}
	tell[bool](p, `f.player.seek(200).then(()=>true)`)
	p.Until("it plays on from there", `f.player.engine.position>205*48000`)
	late := tell[int](p, `f.player.engine.late`)
	t.Logf("%d ranges came late", late)
	assert.Zero(t, late)
	t.Logf("the page's process has %d MB of its own, its scripts %.0f MB", rendererMB(t, p), tell[float64](p, `performance.memory.usedJSHeapSize/1e6`))
	assert.Less(t, rendererMB(t, p), 300)
	p.Quiet()
}

// longTracks writes a hundred tracks of five minutes, each a sound of the song over and over at a gain of its own.
func longTracks(t *testing.T, dir string) {
	t.Helper()
	if _, err := os.Stat(filepath.Join(dir, "whole")); err == nil {
		return
	}
	require.NoError(t, os.RemoveAll(dir)) // what an earlier run did not finish
	require.NoError(t, os.MkdirAll(dir, 0o777))
	paths, _, err := features.Find(songFolder(t))
	require.NoError(t, err)
	for n := range 100 {
		from := paths[n%len(paths)]
		if filepath.Base(from) == "Spare.wav" {
			from = paths[0]
		}
		x := samples(t, from)
		for i := range x {
			x[i] *= 0.2 - 0.001*float32(n)
		}
		w, err := wavfile.Create(filepath.Join(dir, fmt.Sprintf("%s %02d.wav", filepath.Base(from[:len(from)-4]), n)), wavfile.Format{SampleRateHz: 48000, Channels: 1, Encoding: wavfile.PCM24}, false)
		require.NoError(t, err)
		for range 25 { // of 12 s
			require.NoError(t, w.Write([][]float32{x}))
		}
		require.NoError(t, w.Close())
	}
	require.NoError(t, os.WriteFile(filepath.Join(dir, "whole"), nil, 0o666))
}

// rendererMB is the memory that the largest process of a page has for itself, as Linux counts it; 0 elsewhere.
func rendererMB(t *testing.T, p *tab) (most int) {
	t.Helper()
	p.Do(chromedp.Func(func(ctx context.Context, _ *chromedp.Target) error {
		list, err := chromedp.CallBrowser(ctx, systeminfo.GetProcessInfo, cdp.Empty{})
		if err != nil {
			return err
		}
		for _, process := range list.ProcessInfo {
			data, err := os.ReadFile(fmt.Sprintf("/proc/%d/status", process.ID))
			if err != nil || process.Type != "renderer" {
				continue
			}
			if m := regexp.MustCompile(`RssAnon:\s+(\d+) kB`).FindSubmatch(data); m != nil {
				kb, err := strconv.Atoi(string(m[1]))
				if err != nil {
					return err
				}
				most = max(most, kb/1000)
			}
		}
		return nil
	}))
	return most
}
