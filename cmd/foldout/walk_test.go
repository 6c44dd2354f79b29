package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"testing"

	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/examples/demo"
	"foldout/features/wavfile"
	"foldout/testdata/pages"
	"foldout/testdata/song"
)

// bench is foldout open as a process of its own, with a home of its own.
type bench struct {
	*testing.T
	home    string
	cmd     *exec.Cmd
	address string
}

// foldout is a command in that home.
func (b *bench) foldout(args ...string) *exec.Cmd {
	cmd := exec.CommandContext(b.Context(), os.Args[0], args...)
	cmd.Env = append(os.Environ(), "FOLDOUT_TEST_AS_PROGRAM=1")
	for _, v := range []string{"HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "LocalAppData", "AppData"} {
		cmd.Env = append(cmd.Env, v+"="+b.home)
	}
	cmd.Stderr = os.Stderr
	return cmd
}

// open starts it and reads the address that it prints.
func (b *bench) open(args ...string) {
	b.Helper()
	b.cmd = b.foldout(append([]string{"open", "--no-browser"}, args...)...)
	out, err := b.cmd.StdoutPipe()
	require.NoError(b, err)
	require.NoError(b, b.cmd.Start())
	line, err := bufio.NewReader(out).ReadString('\n')
	require.NoError(b, err)
	b.address = strings.TrimSpace(line)
}

// kill ends it as a crash does.
func (b *bench) kill() {
	b.Helper()
	require.NoError(b, b.cmd.Process.Kill())
	b.cmd.Wait() //nolint:errcheck // it was killed
}

// demoAtHand puts the song of the tests where the demo is found when it has been performed before: performing it has tests
// of its own and takes longer.
func (b *bench) demoAtHand() (dir string) {
	b.Helper()
	cache := b.home
	if runtime.GOOS == "darwin" {
		cache = filepath.Join(b.home, "Library", "Caches")
	}
	dir = filepath.Join(cache, "foldout", "demo", demo.Song.Title)
	require.NoError(b, os.MkdirAll(dir, 0o755))
	song.Write(b.T, dir, nil)
	require.NoError(b, os.WriteFile(dir+" is whole", nil, 0o600))
	return dir
}

func slipOf(file string) string { return fmt.Sprintf(`.slipcard[data-file=%q]`, file) }

func laneOf(p *pages.Tab, file string) int {
	p.Helper()
	return pages.Tell[int](p, fmt.Sprintf(`+(document.querySelector('.slipcard[data-file=%q]')?.closest(".pair")?.dataset.pair||0)`, file))
}

// The whole way of a person through the workbench, with the real program and a real browser: the demo, measured before their
// eyes; a track moved by mouse and by keys, what that changed, undone; locked, folded anew, more pairs, another name; heard,
// sought, switched; a second window; the program killed in the middle; the page read anew; stems whose sum is the tracks;
// the sheet saved, and read in the terminal.
func TestAPersonsWayThroughTheWorkbench(t *testing.T) {
	window := pages.Browser(t)
	t.Cleanup(pages.End)
	b := &bench{T: t, home: t.TempDir()}
	folder := b.demoAtHand()
	b.open()
	p := pages.OpenTab(t, window, b.address)

	// open
	p.Until("the first page", `document.querySelector("#demo")`)
	pages.Tell[bool](p, `(()=>{window.measured=new Set();new MutationObserver(()=>document.querySelectorAll(".arrivals li b").forEach(e=>measured.add(e.textContent))).observe(document.body,{childList:true,subtree:true});return true})()`)
	p.Press("#demo")
	p.Until("the demo is measured and folded", `document.querySelectorAll(".slipcard").length===12`)
	assert.GreaterOrEqual(t, pages.Tell[int](p, `measured.size`), 12, "tracks are seen as they are measured")
	assert.Equal(t, "Play", pages.Tell[string](p, `document.querySelector("#listen button").textContent`), "the first control")

	away := b.moveAndUndo(p)
	b.lockFoldGrowName(p, away)
	b.hear(p)

	// a second window sees what the first does, and the other way round
	q := pages.OpenTab(t, window, b.address)
	q.Until("the tracks are there", `document.querySelectorAll(".pair").length===5`)
	to := laneOf(q, "Hat.wav")%5 + 1
	pages.Tell[bool](q, fmt.Sprintf(`f.act({do:"move",tracks:["Hat.wav"],pair:%d})`, to))
	p.Until("the first window sees the step of the second", fmt.Sprintf(`document.querySelector('.slipcard[data-file="Hat.wav"]').closest(".pair").dataset.pair==="%d"`, to))

	// the program is killed in the middle, something is done meanwhile, and it is started again the same way
	for _, page := range []*pages.Tab{p, q} {
		page.Quiet()
	}
	before := pages.Tell[string](p, `JSON.stringify(f.store.state.session.history.map(h=>h.name))`)
	b.kill()
	p.Until("the page says so, and what to do", `!document.querySelector("#gone").hidden && document.querySelector("#gone").textContent.includes("Nothing is lost") && document.querySelector("#gone").textContent.includes("foldout open")`)
	pages.Tell[bool](p, `f.act({do:"lock",tracks:["Hat.wav"],on:true}).then(()=>true)`)
	was := b.address
	b.open()
	require.Equal(t, was, b.address, "the same address again")
	p.Until("it goes on, and does what could not be sent", `document.querySelector("#gone").hidden && f.store.state.session?.history.at(-1).name==="Hat locked"`)
	assert.Equal(t, before, pages.Tell[string](p, `JSON.stringify(f.store.state.session.history.map(h=>h.name).slice(0,-1))`), "nothing is lost")
	q.Until("the second window goes on too", `document.querySelector("#gone").hidden && f.store.state.session?.history.at(-1).name==="Hat locked"`)
	p.Forget() // requests that nobody answered
	q.Forget()
	p.Press("#play")
	p.Until("it can be heard again", `f.player.engine.playing && f.player.engine.position>f.player.engine.at+4800`)
	p.Press("#play")
	p.Until("it stops", `!f.player.engine.playing`)

	// reload
	history := pages.Tell[string](p, `JSON.stringify(f.store.state.session.history)`)
	p.Do(chromedp.Reload())
	p.Until("it is there again", `window.foldout && document.querySelectorAll(".pair").length===5`)
	assert.Equal(t, history, pages.Tell[string](p, `JSON.stringify(f.store.state.session.history)`))

	// stems, and their null test
	p.Press(`[data-leaf="keep"]`)
	p.Until("the leaf", `document.querySelector("#write-stems")`)
	p.Press("#write-stems")
	p.Until("stems are written", `/files? in /.test(document.querySelector("#stems-state")?.textContent)`)
	stems := pages.Tell[string](p, `f.store.state.session.stems.dir`)
	assert.Less(t, rest(t, stems, folder), 1e-5, "the sum of the stems less the sum of the tracks, at its peak")

	// the rig says what it comes to
	p.Press(`[data-leaf="rig"]`)
	p.Until("the rig is judged", `/pairs are free/.test(document.querySelector("#rig-verdict")?.textContent)`)

	// save, end, and go on in the terminal
	p.Press(`[data-leaf="keep"]`)
	p.Until("the leaf", `document.querySelector("#save")`)
	p.Press("#save")
	p.Until("saved", `/Saved as .*sheet\.json/.test(document.querySelector("#said").textContent)`)
	saved := strings.TrimPrefix(pages.Tell[string](p, `document.querySelector("#said").textContent`), "Saved as ")
	p.Quiet()
	q.Quiet()
	b.kill()
	out, err := b.foldout("levels", saved, "--format", "json").Output()
	require.NoError(t, err)
	var levels struct {
		Pairs []struct {
			Name string `json:"name"`
			LUFS any    `json:"integrated_lufs"`
		} `json:"pairs"`
	}
	require.NoError(t, json.Unmarshal(out, &levels), "%s", out)
	require.Len(t, levels.Pairs, 5)
	assert.Equal(t, "<b>Wood & wire</b>", levels.Pairs[1].Name)
	for _, l := range levels.Pairs {
		assert.NotNil(t, l.LUFS, l.Name)
	}
}

// moveAndUndo moves by mouse and by keys and takes it back, and leaves the bass where it says.
func (b *bench) moveAndUndo(p *pages.Tab) (away int) {
	b.Helper()
	p.Until("the pairs are measured", `f.store.state.session.loads===""`)
	home := laneOf(p, "Bass DI.wav")
	away = home%4 + 1
	before := pages.Tell[string](p, `document.querySelector("#note .figs dd").textContent`)
	p.Drag(slipOf("Bass DI.wav"), fmt.Sprintf(`.pair[data-pair="%d"] .lanehead`, away))
	p.Until("the step is shown", `f.store.state.session.at===1 && document.querySelector("#changed div")`)
	assert.Equal(b, away, laneOf(p, "Bass DI.wav"))
	assert.Contains(b, pages.Tell[string](p, `document.querySelector('[data-part="change"]').innerText`), before+" → ", "what changed, with the figure before")
	p.Until("levels and headroom of both pairs are measured", `[...document.querySelectorAll("#changed dd")].filter(e=>/LUFS.*overlap.*headroom/.test(e.innerText)).length===2`)
	p.Until("its misfits are counted", `/Misfits \d+ → \d+/.test(document.querySelector('[data-part="change"]').innerText)`)

	p.Do(chromedp.Focus(chromedp.CSS(slipOf("Lead Vox.wav"))))
	from := laneOf(p, "Lead Vox.wav")
	to := from%4 + 1
	p.Keys(fmt.Sprint(to))
	p.Until("moved by a number", fmt.Sprintf(`f.store.state.session.at===2 && document.querySelector('.slipcard[data-file="Lead Vox.wav"]').closest(".pair").dataset.pair==="%d"`, to))
	p.Until("the focus stays on the slip", `document.activeElement.dataset.file==="Lead Vox.wav"`)
	p.Keys("z", chromedp.ModifierCtrl)
	p.Until("undone", `f.store.state.session.at===1`)
	assert.Equal(b, from, laneOf(p, "Lead Vox.wav"))
	p.Press("#undo")
	p.Until("undone by mouse", `f.store.state.session.at===0`)
	assert.Equal(b, home, laneOf(p, "Bass DI.wav"))
	p.Press("#redo")
	p.Until("done again", `f.store.state.session.at===1`)
	return away
}

// lockFoldGrowName locks the bass, folds anew around it, takes a pair more, and names one.
func (b *bench) lockFoldGrowName(p *pages.Tab, away int) {
	b.Helper()
	p.Do(chromedp.Focus(chromedp.CSS(slipOf("Bass DI.wav"))))
	p.Keys("l")
	p.Until("locked", `document.querySelector('.slipcard[data-file="Bass DI.wav"]').classList.contains("held")`)
	pages.Tell[bool](p, `[...document.querySelectorAll(".tools button")].find(b=>b.textContent==="Fold anew").click()||true`)
	p.Until("a fold is offered, or none is needed", `f.store.busy===""`)
	if pages.Tell[bool](p, `!!document.querySelector("#take-offer")`) {
		p.Press("#take-offer")
		p.Until("taken", `!document.querySelector("#take-offer") && f.store.state.session.history.at(-1).name==="folded anew"`)
	}
	assert.Equal(b, away, laneOf(p, "Bass DI.wav"), "what is locked stays")
	pages.Tell[bool](p, `[...document.querySelectorAll(".tools button")].find(b=>b.textContent==="More pairs").click()||true`)
	p.Until("five pairs are offered", `f.store.busy==="" && document.querySelector("#take-offer")`)
	assert.Equal(b, 4, pages.Tell[int](p, `document.querySelectorAll(".pair").length`), "an offer changes nothing")
	p.Press("#take-offer")
	p.Until("five pairs", `document.querySelectorAll(".pair").length===5`)
	p.Press(`.pair[data-pair="2"] .lanename`)
	p.Until("a name is asked for", `document.querySelector("dialog[open] input")`)
	pages.Tell[bool](p, `!!(document.querySelector("dialog input").value="<b>Wood & wire</b>")`)
	p.Keys("\r")
	p.Until("named", `document.querySelector('.pair[data-pair="2"] .lanename').textContent==="<b>Wood & wire</b>"`)
}

// hear plays, seeks and switches: the clock of the audio runs on, and the analyser sees the spectrum of what was asked for.
// The kick of the song lies at 50 Hz, the organ above 260 Hz.
func (b *bench) hear(p *pages.Tab) {
	b.Helper()
	p.Press("#play")
	p.Until("it plays", `f.player.engine.playing && f.player.engine.position>0.3*48000`)
	at := pages.Tell[float64](p, `f.player.engine.position`)
	p.Until("the clock of the audio runs", fmt.Sprintf(`f.player.engine.position>%g`, at+4800))
	// the greatest bin between 20 Hz and 2 kHz, gathered over a second, since the kick decays
	greatest := `(async()=>{const a=f.player.engine.meters[0],d=new Float32Array(a.frequencyBinCount),s=new Float32Array(a.frequencyBinCount);
		for(let k=0;k<20;k++){await new Promise(r=>setTimeout(r,50));a.getFloatFrequencyData(d);d.forEach((v,i)=>s[i]+=10**(v/10));}
		let best=0;for(let i=2;i<170;i++)if(s[i]>s[best])best=i;return best*48000/4096})()`
	p.Press(slipOf("Kick In.wav"))
	p.Until("the note speaks of it", `document.querySelector('[data-do="hear"][type]')&&document.querySelector("#note h2").innerText==="Kick In"`)
	p.Press(`#note [data-do="hear"]`)
	p.Soon("the kick, in Hz", greatest, func(hz float64) bool { return hz < 120 })
	pages.Tell[bool](p, `f.player.engine.setLoop([0,10*48000]).then(()=>true)`)
	p.Until("it plays on in the loop", `f.player.engine.playing && f.player.engine.started!==undefined`)
	started := pages.Tell[float64](p, `f.player.engine.started`)
	p.Press(fmt.Sprintf(`.chip[data-to="p%d"]`, laneOf(p, "Organ.wav")))
	p.Soon("the organ's pair, in Hz", greatest, func(hz float64) bool { return hz > 200 })
	assert.InDelta(b, started, pages.Tell[float64](p, `f.player.engine.started`), 1e-9, "a switch keeps the instant")
	pages.Tell[bool](p, `f.player.engine.setLoop(null).then(()=>true)`)
	x, y := p.At("#wave")
	p.Mouse("mousePressed", x, y)
	p.Mouse("mouseReleased", x, y)
	p.Until("it plays from the middle of the waveform", `f.player.engine.playing && Math.abs(f.player.engine.at-6*48000)<4800 && f.player.engine.position>f.player.engine.at`)
	p.Press("#play")
	p.Until("it stops", `!f.player.engine.playing`)
}

// rest is the highest sample of what stems add up to, less the tracks, each of them centred at -3 dB.
func rest(t *testing.T, stems, tracks string) (most float64) {
	t.Helper()
	var sum [2][]float64
	add := func(dir string, gain float64) {
		paths, err := filepath.Glob(filepath.Join(dir, "*.wav"))
		require.NoError(t, err)
		require.NotEmpty(t, paths, dir)
		for _, path := range paths {
			r, err := wavfile.Open(path)
			require.NoError(t, err)
			planes := make([][]float32, r.Info().Channels)
			for ch := range planes {
				planes[ch] = make([]float32, r.Info().Frames)
			}
			_, err = r.Read(planes)
			require.NoError(t, err)
			require.NoError(t, r.Close())
			for side := range sum {
				if sum[side] == nil {
					sum[side] = make([]float64, len(planes[0]))
				}
				for i, v := range planes[min(side, len(planes)-1)] {
					sum[side][i] += gain * float64(v)
				}
			}
		}
	}
	add(stems, 1)
	loudest := 0.0
	for _, v := range sum[0] {
		loudest = max(loudest, math.Abs(v))
	}
	require.Greater(t, loudest, 0.1, "the stems are not silence")
	add(tracks, -math.Sqrt(0.5))
	for side := range sum {
		for _, v := range sum[side] {
			most = max(most, math.Abs(v))
		}
	}
	return most
}
