package workbench

import (
	"context"
	"fmt"
	"math"
	"net"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/pages"
	"foldout/testdata/song"
)

// tab is the page in a browser.
type tab struct{ *pages.Tab }

func openTab(t testing.TB, window context.Context, address string) *tab {
	t.Helper()
	return &tab{pages.OpenTab(t, window, address)}
}

// tell evaluates an expression in the page; f is the page's own handle on itself.
func tell[T any](p *tab, expression string) T {
	p.Helper()
	return pages.Tell[T](p.Tab, expression)
}

func card(file string) string { return fmt.Sprintf(`.slipcard[data-file=%q]`, file) }

func (p *tab) pairOf(file string) int {
	p.Helper()
	return tell[int](p, fmt.Sprintf(`+(document.querySelector('.slipcard[data-file=%q]')?.closest(".pair")?.dataset.pair||0)`, file))
}

// settled waits until the page shows what the server has.
func (p *tab) settled(o *onServer) {
	p.Helper()
	p.Until("the page is up to date", fmt.Sprintf(`f.store.state.session && f.store.state.session.rev>=%d`, o.bench.state().Session.Rev))
}

func demoOf(t testing.TB) func(context.Context, func(int, int)) (string, error) {
	return func(context.Context, func(int, int)) (string, error) {
		dir := filepath.Join(t.TempDir(), "Harbour")
		if err := os.Mkdir(dir, 0o777); err != nil {
			return "", err
		}
		song.Write(t, dir, nil)
		return dir, nil
	}
}

// What is heard is what was asked for: the clock of the audio runs, the analyser sees the spectrum of the right lane, and
// a switch keeps the place. The kick of the song lies at 50 Hz, the organ above 260 Hz.
func TestListening(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	p := openTab(t, pages.Browser(t), o.address)
	p.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 4})
	var others []string
	for _, l := range o.bench.state().Session.Lanes {
		for _, tr := range l.Tracks {
			if tr.File != "Organ.wav" && tr.File != "Kick In.wav" {
				others = append(others, tr.File)
			}
		}
	}
	o.do(t, Act{Do: "move", Tracks: others, Pair: 3})
	o.do(t, Act{Do: "move", Tracks: []string{"Kick In.wav"}, Pair: 1})
	p.settled(o)
	p.Press("#play")
	p.Until("it plays", `f.player.engine.playing && f.player.engine.position > 0.3*48000`)
	assert.Equal(t, "Stop", tell[string](p, `document.querySelector("#play").textContent`))
	a := tell[float64](p, `f.player.engine.position/48000`)
	time.Sleep(300 * time.Millisecond)
	assert.Greater(t, tell[float64](p, `f.player.engine.position/48000`), a, "the clock of the audio runs")
	// the greatest bin between 20 Hz and 2 kHz, gathered over a second, since the kick decays
	heard := `(async()=>{const a=f.player.engine.meters[0],d=new Float32Array(a.frequencyBinCount),s=new Float32Array(a.frequencyBinCount);
		for(let k=0;k<20;k++){await new Promise(r=>setTimeout(r,60));a.getFloatFrequencyData(d);d.forEach((v,i)=>s[i]+=10**(v/10));}
		let best=0;for(let i=2;i<170;i++)if(s[i]>s[best])best=i;return best*48000/4096})()`
	p.Press(`.chip[data-to="p1"]`)
	p.Until("the first pair is heard", `f.player.target.pair===1`)
	time.Sleep(500 * time.Millisecond)
	p.Soon("the kick, in Hz", heard, func(hz float64) bool { return hz < 120 })
	before := tell[float64](p, `f.player.engine.position`)
	p.Press(`.chip[data-to="p4"]`)
	p.Until("the fourth is heard", `f.player.target.pair===4`)
	time.Sleep(500 * time.Millisecond)
	p.Soon("the organ, in Hz", heard, func(hz float64) bool { return hz > 200 })
	assert.Greater(t, tell[float64](p, `f.player.engine.position`), before, "the song went on")
	// mono, the soft channel, loop, seek, stop
	tell[bool](p, `f.player.seek(7).then(()=>true)`)
	p.Until("it plays from there", `f.player.engine.playing && f.player.engine.position>7*48000 && f.player.engine.position<11*48000`)
	p.Press("#unit")
	p.Until("through the channel", `f.player.through==="through" && f.player.engine.wet.gain.value>0.5 && f.player.engine.dry.gain.value<0.5`)
	p.Soon("clean and through are equally loud, in dB", fmt.Sprintf(`(async()=>{const l=()=>{const d=new Float32Array(4096);f.player.engine.meters[0].getFloatTimeDomainData(d);return d.reduce((a,v)=>a+v*v,0)};
		const m=async()=>{let s=0;for(let k=0;k<12;k++){await new Promise(r=>setTimeout(r,90));s+=l()}return 10*Math.log10(s)};
		document.querySelector('[data-mode="through"]').click();await f.player.engine.setLoop([%d,%d]);await new Promise(r=>setTimeout(r,700));const wet=await m();document.querySelector('[data-mode="clean"]').click();await new Promise(r=>setTimeout(r,400));return await m()-wet})()`, 3*48000, 4*48000), func(db float64) bool { return math.Abs(db) < 1 })
	for range 3 {
		at := tell[float64](p, `f.player.engine.position/48000`)
		assert.True(t, at >= 3 && at < 4.01, "in the loop, at %.2f s", at)
		time.Sleep(400 * time.Millisecond)
	}
	p.Press("#play")
	p.Until("it stops", `!f.player.engine.playing`)
	p.Quiet()
}

// Two browsers on one session see one another's steps; a program that is killed and started again on the same address
// finds all that was done, and the page goes on.
func TestTwoBrowsersAndAServerThatIsKilled(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	ctx := pages.Browser(t)
	p, q := openTab(t, ctx, o.address), openTab(t, ctx, o.address)
	for _, page := range []*tab{p, q} {
		page.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	}
	to := p.pairOf("Hat.wav")%4 + 1
	tell[bool](p, fmt.Sprintf(`f.act({do:"move",tracks:["Hat.wav"],pair:%d})`, to))
	q.Until("the other sees it", fmt.Sprintf(`document.querySelector('.slipcard[data-file="Hat.wav"]').closest(".pair").dataset.pair==="%d"`, to))
	o.stop()
	p.Until("the page says that it is alone", `!document.querySelector("#gone").hidden`)
	assert.Contains(t, tell[string](p, `document.querySelector("#gone").textContent`), "Nothing is lost")
	tell[bool](p, `f.act({do:"lock",tracks:["Hat.wav"],on:true}).then(()=>true)`) // done while nobody listens

	// a program at the same address, as after a pause of the machine
	b, err := New(Options{Cache: o.bench.opt.Cache})
	require.NoError(t, err)
	t.Cleanup(b.Close)
	require.NoError(t, b.Open(dir))
	again := &onServer{bench: b, address: o.address}
	again.wait(t, "open again", func(st *State) bool { return st.Session != nil })
	serveAgain(t, o.address, b)
	p.Until("it goes on", `document.querySelector("#gone").hidden && f.store.state.session.history.length===3`)
	assert.Equal(t, to, p.pairOf("Hat.wav"))
	assert.Equal(t, "Hat locked", tell[string](p, `f.store.state.session.history.at(-1).name`))
}

// Every text of every leaf can be read in both themes and at all widths, every control has a name and room for a finger; also with
// more pairs than the song came with.
func TestTheLookOfIt(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	p := openTab(t, pages.Browser(t), o.address)
	p.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	p.Press(card("Bass DI.wav"))
	p.Until("the argument is there", `document.querySelector(".nearness")`)
	tell[bool](p, `new Function(`+quote(inspect)+`)()||true`)
	look := func(pairs int, widths ...int64) {
		for _, scheme := range []string{"light", "dark"} {
			p.theme(scheme)
			for _, wide := range widths {
				p.Do(chromedp.EmulateViewport(wide, 1000))
				for leaf, faults := range tell[map[string][]string](p, fmt.Sprintf("inspect.leaves(4.5, 44, %d)", wide)) {
					assert.Empty(t, faults, "%s with %d pairs, %d px, %s", leaf, pairs, wide, scheme)
				}
			}
		}
	}
	look(4, 820, 1280, 1920, 2560)
	var offer struct{ ID string }
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "pairs", "pairs": 10}, &offer))
	o.do(t, Act{Do: "offer", Offer: offer.ID})
	p.settled(o)
	look(10, 820, 1280)
	o.post(t, "travel", map[string]int{"to": 0}, nil)
	p.settled(o)
	p.Do(chromedp.EmulateViewport(1280, 1000))
	p.Press(`[data-leaf="lanes"]`)
	assert.Equal(t, 4, tell[int](p, `document.querySelectorAll('[role=listbox][aria-multiselectable=true]').length`))
	assert.Equal(t, 12, tell[int](p, `document.querySelectorAll('[role=listbox] [role=option][aria-selected][aria-label]').length`))
	assert.Equal(t, 1, tell[int](p, `document.querySelectorAll('.slipcard[tabindex="0"]').length`), "one stop of the tabulator for all slips")
	home := p.pairOf("Bass DI.wav")
	p.Press(fmt.Sprintf(`.pair[data-pair="%d"] [data-do="up"]`, home+1))
	p.Until("the pair below has changed places with it", fmt.Sprintf(`+document.querySelector('.slipcard[data-file="Bass DI.wav"]').closest(".pair").dataset.pair===%d`, home+1))
	assert.Contains(t, o.bench.state().Session.History[o.bench.state().Session.At].Name, " before ")
	p.Quiet()
}

func quote(s string) string { return fmt.Sprintf("%q", s) }

// serveAgain answers at an address that another server had, token and all.
func serveAgain(t *testing.T, address string, b *Bench) {
	t.Helper()
	host, token, _ := strings.Cut(strings.TrimSuffix(strings.TrimPrefix(address, "http://"), "/"), "/")
	l, err := net.Listen("tcp", host)
	require.NoError(t, err)
	serveOn(t, l, "/"+token, b)
}
