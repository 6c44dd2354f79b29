package workbench

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/pages"
	"foldout/testdata/song"
)

// A hundred presses of undo, faster than they are answered, undo a hundred steps; so does redo. While one window has a slip in the
// air, another folds onto fewer pairs: both show the same afterwards, and the slip lies on a pair. Where a person wants things still,
// nothing moves by itself.
func TestFastHandsAndTwoWindows(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	window := pages.Browser(t)
	p, q := openTab(t, window, o.address), openTab(t, window, o.address)
	still := func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-reduced-motion", Value: "reduce"}}})
		return err
	}
	q.Do(chromedp.Func(still))
	for _, w := range []*tab{p, q} {
		w.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	}
	for i := range 100 {
		o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 1 + i%4})
	}
	p.settled(o)
	last := o.bench.state().Session.At
	require.GreaterOrEqual(t, last, 99) // the first may have been where it was
	press := func(key string, times int) {
		tell[bool](p, fmt.Sprintf(`(()=>{for(let k=0;k<%d;k++)document.body.dispatchEvent(new KeyboardEvent("keydown",{key:%q,ctrlKey:true,bubbles:true}));return true})()`, times, key))
	}
	press("z", last-1)
	p.Until("all but one are undone", `f.store.state.session.at===1`)
	assert.Equal(t, 1, o.bench.state().Session.At)
	press("y", last+10)
	p.Until("all are done again", fmt.Sprintf(`f.store.state.session.at===%d`, last))
	// a move whose answer is not there yet is what undo undoes
	at := p.pairOf("Organ.wav")
	tell[bool](p, fmt.Sprintf(`(()=>{f.act({do:"move",tracks:["Organ.wav"],pair:%d});document.body.dispatchEvent(new KeyboardEvent("keydown",{key:"z",ctrlKey:true,bubbles:true}));return true})()`, 1+at%4))
	p.Until("it was done and undone", fmt.Sprintf(`f.store.state.session.at===%d && f.store.state.session.history.length===%d`, last, last+2))
	assert.Equal(t, at, pairOf(o.bench.state().Session, "Organ.wav"))

	q.settled(o) // the slip lies still where it is pressed
	x, y := q.At(card("Organ.wav"))
	q.Mouse("mousePressed", x, y)
	q.Mouse("mouseMoved", x+30, y+30)
	q.Until("the slip is lifted", `document.querySelector(".ghost")`)
	assert.Equal(t, "none 0", tell[string](q, `getComputedStyle(document.querySelector(".ghost")).rotate+" "+document.getAnimations().length`))
	var offer struct{ ID string }
	require.Equal(t, 200, o.post(t, "offer", map[string]any{"kind": "pairs", "pairs": 2}, &offer))
	o.do(t, Act{Do: "offer", Offer: offer.ID})
	q.Until("the other fold is there", `document.querySelectorAll(".pair").length===2`)
	q.Mouse("mouseMoved", x+30, y+40)
	q.Mouse("mouseReleased", x+30, y+40)
	q.Until("the slip lies down", `!document.querySelector(".ghost, .under, .lifted")`)
	for _, w := range []*tab{p, q} {
		w.settled(o)
		w.Until("both show what is", `document.querySelectorAll(".slipcard").length===12 && document.querySelectorAll(".pair").length===2`)
		assert.Equal(t, pairOf(o.bench.state().Session, "Organ.wav"), w.pairOf("Organ.wav"))
		w.Quiet()
	}
}

// The folder is renamed while it is open: the page says so, steps are still kept, and it is heard again once it is back.
func TestAFolderThatGoesAway(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	require.NoError(t, os.Rename(dir, dir+" elsewhere"))
	st := o.wait(t, "it is said", func(st *State) bool { return st.Session.Mute != "" })
	assert.Contains(t, st.Session.Mute, dir+" is not there any more")
	o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 1})
	o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 2})
	require.NoError(t, os.Rename(dir+" elsewhere", dir))
	st = o.wait(t, "it can be heard again", func(st *State) bool { return st.Session.Mute == "" })
	assert.Equal(t, 2, pairOf(st.Session, "Organ.wav"))
}

// A track is deleted while a mix of it and another plays: the stream goes on with what is left, sample by sample.
func TestWhatPlaysOutlivesATrack(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{}, dir)
	var both, one struct{ IDs []string }
	require.Equal(t, 200, o.post(t, "mix", map[string]any{"mixes": [][]string{{"Kick In.wav", "Organ.wav"}}}, &both))
	require.NoError(t, os.Remove(filepath.Join(dir, "Organ.wav")))
	o.wait(t, "it is missed", func(st *State) bool { return st.Session.News != nil })
	require.Equal(t, 200, o.post(t, "mix", map[string]any{"mixes": [][]string{{"Kick In.wav"}}}, &one))
	status, _, left := o.get(t, "sound/"+both.IDs[0], 48000*8, 48000*16-1)
	require.Equal(t, 206, status)
	status, _, kick := o.get(t, "sound/"+one.IDs[0], 48000*8, 48000*16-1)
	require.Equal(t, 206, status)
	assert.Equal(t, kick, left)
}

// The disk is full: what cannot be kept is not done and is said, nothing half is left, and all goes on once there is room.
func TestAFullDisk(t *testing.T) {
	disk := t.TempDir()
	if out, err := exec.Command("mount", "-t", "tmpfs", "-o", "size=48m", "tmpfs", disk).CombinedOutput(); err != nil {
		t.Skipf("a small disk cannot be mounted here: %s", out)
	}
	t.Cleanup(func() { assert.NoError(t, exec.Command("umount", "-l", disk).Run()) })
	dir := filepath.Join(disk, "Song")
	require.NoError(t, os.Mkdir(dir, 0o777))
	song.Write(t, dir, nil)
	o := start(t, Options{}, dir)
	o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 1})
	filler := filepath.Join(disk, "filler")
	f, err := os.Create(filler)
	require.NoError(t, err)
	for err == nil {
		_, err = f.Write(make([]byte, 4096))
	}
	require.NoError(t, f.Close())
	status, at := 200, 0
	for n := 0; status == 200 && n < 100; n++ { // what is left of the last block of the journal is used first
		at = o.bench.state().Session.At
		status = o.post(t, "act", Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 2 - n%2}, nil)
	}
	before := o.bench.state().Session
	assert.Equal(t, at, before.At)
	why := o.refused(t, "act", Act{Do: "move", Tracks: []string{"Organ.wav", "Kick In.wav"}, Pair: 3})
	assert.Contains(t, why, "could not be kept, so it was not done")
	assert.NotEmpty(t, o.refused(t, "version", map[string]string{"name": "Full"}))
	assert.NotEmpty(t, o.refused(t, "save", struct{}{}))
	require.Equal(t, 200, o.post(t, "stems", struct{}{}, nil))
	st := o.wait(t, "the stems are given up", func(st *State) bool { return st.Session.Stems != nil && st.Session.Stems.Over })
	assert.NotEmpty(t, st.Session.Stems.Fault)
	left, err := os.ReadDir(disk)
	require.NoError(t, err)
	var names []string
	for _, e := range left {
		names = append(names, e.Name())
	}
	assert.Equal(t, []string{"Song", "Song.foldout.jsonl", "filler"}, names)
	require.NoError(t, os.Remove(filler))
	o.do(t, Act{Do: "move", Tracks: []string{"Organ.wav"}, Pair: 3})
	o.stop()
	again := start(t, Options{}, dir)
	assert.Equal(t, 3, pairOf(again.bench.state().Session, "Organ.wav"))
	assert.Equal(t, at+1, again.bench.state().Session.At)
}
