package workbench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/target"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/linecheck/simulate"
	"foldout/plan/linecheck/tones"
	"foldout/testdata/pages"
)

// newcomer uses nothing but what can be seen: words on buttons, links and ticks, found as they are read, clicked where
// they are.
type newcomer struct {
	*tab
	clicks int
}

// click clicks the control with these words on it, which has to be in the window and not covered.
func (n *newcomer) click(words string) {
	n.Helper()
	find := fmt.Sprintf(`(()=>{const e=[...document.querySelectorAll("button,a,label,summary")].find(e=>e.innerText?.trim()===%q&&!e.disabled&&e.getBoundingClientRect().width);
		if(!e)return null;e.scrollIntoView({block:"nearest"});const b=e.getBoundingClientRect();const x=b.x+b.width/2,y=b.y+b.height/2;
		const top=document.elementFromPoint(x,y);return top&&(e===top||e.contains(top))?[x,y]:null})()`, words)
	n.Until(fmt.Sprintf("%q can be clicked", words), find)
	at := tell[[]float64](n.tab, find)
	n.Mouse("mousePressed", at[0], at[1])
	n.Mouse("mouseReleased", at[0], at[1])
	n.clicks++
}

// reads waits until words can be read on the page.
func (n *newcomer) reads(words string) {
	n.Helper()
	n.Until(fmt.Sprintf("%q can be read", words), fmt.Sprintf(`document.body.innerText.includes(%q)`, words))
}

// From the first page to a printed patch sheet and rendered stems of the demo, by somebody who has not read a word of the
// manual and goes by what stands on the screen.
func TestANewcomerGetsToPaperAndStems(t *testing.T) {
	o := start(t, Options{Demo: demoOf(t)}, "")
	ctx := pages.Browser(t)
	n := &newcomer{tab: openTab(t, ctx, o.address)}
	n.Do(chromedp.EmulateViewport(1280, 800))
	begun := time.Now()
	n.click("Try the demo")
	n.reads("12 tracks on 4 pairs")
	n.click("Patch")
	n.reads("Follow a track")
	n.click("Take away")
	n.click("Write stems")
	n.reads("files in ")
	opened := chromedp.WaitNewTarget(n.Ctx, func(i *target.Info) bool { return strings.Contains(i.URL, "report.html") })
	n.click("Open to print")
	var id target.ID
	select {
	case id = <-opened:
	case <-time.After(pages.Patience):
		t.Fatal("nothing was opened to print")
	}
	t.Logf("%d clicks, %.0f s on this machine", n.clicks, time.Since(begun).Seconds())
	assert.LessOrEqual(t, n.clicks, 6)
	paper, stop := chromedp.NewContext(n.Ctx, chromedp.WithTargetID(id))
	defer stop()
	limited, end := context.WithTimeout(paper, pages.Patience)
	defer end()
	pdf, err := chromedp.Run(limited, chromedp.PrintToPDF())
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(pdf), "%PDF"), "it prints")
	text, err := chromedp.Run(limited, chromedp.Evaluate[string]("document.body.innerText"))
	require.NoError(t, err)
	assert.Contains(t, text, "Lead Vox")
	assert.Contains(t, strings.ToLower(text), "patch", "the plugs are on the paper")
	st := o.bench.state().Session.Stems
	require.NotNil(t, st)
	files, err := filepath.Glob(filepath.Join(st.Dir, "*.wav"))
	require.NoError(t, err)
	assert.Len(t, files, 4, "a stem for each pair")
	n.Quiet()
}

// finger touches the page, as a touch screen does.
func (p *tab) finger(kind input.DispatchTouchEventType, points ...[2]float64) {
	p.Helper()
	touches := []*input.TouchPoint{}
	for _, at := range points {
		touches = append(touches, &input.TouchPoint{X: at[0], Y: at[1]})
	}
	p.Do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, input.DispatchTouchEvent, input.DispatchTouchEventParams{Type: kind, TouchPoints: touches})
		return err
	}))
}

// A finger that rests on a slip takes it to another pair; one that moves at once leaves it where it is; several that were
// chosen go together.
func TestByFinger(t *testing.T) {
	o := start(t, Options{}, songFolder(t))
	p := openTab(t, pages.Browser(t), o.address)
	p.Do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetTouchEmulationEnabled, emulation.SetTouchEmulationEnabledParams{Enabled: true, MaxTouchPoints: 2})
		return err
	}))
	p.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	take := func(file string, to int) {
		p.At(card(file))
		toX, toY := p.At(fmt.Sprintf(`.pair[data-pair="%d"] .lanehead`, to))
		x, y := p.At(card(file))
		p.finger(input.DispatchTouchEventTypeTouchStart, [2]float64{x, y})
		p.Until("the slip is lifted", `document.body.classList.contains("dragging")`)
		for k := range 10 {
			s := float64(k+1) / 10
			p.finger("touchMove", [2]float64{x + (toX-x)*s, y + (toY-y)*s})
		}
		p.Until("it hangs over its pair", fmt.Sprintf(`document.querySelector('.pair.under')?.dataset.pair==="%d"`, to))
		p.finger("touchEnd")
	}
	home := p.pairOf("Hat.wav")
	away := home%4 + 1
	take("Hat.wav", away)
	p.Until("it was moved", `f.store.state.session.at===1`)
	p.settled(o)
	assert.Equal(t, away, p.pairOf("Hat.wav"))

	// a finger that moves at once is a scroll
	x, y := p.At(card("Organ.wav"))
	p.finger(input.DispatchTouchEventTypeTouchStart, [2]float64{x, y})
	p.finger("touchMove", [2]float64{x, y - 40})
	p.finger("touchMove", [2]float64{x, y - 90})
	p.finger("touchEnd")
	assert.False(t, tell[bool](p, `document.body.classList.contains("dragging")`))
	assert.Equal(t, 1, tell[int](p, `f.store.state.session.at`))

	// two chosen by keys, taken by one of them
	p.Do(chromedp.Focus(chromedp.CSS(card("Organ.wav"))))
	p.Keys("x")
	p.Do(chromedp.Focus(chromedp.CSS(card("Lead Vox.wav"))))
	p.Keys("x")
	p.Until("two are chosen", `f.store.chosen.size===2`)
	to := 1
	for to == p.pairOf("Organ.wav") || to == p.pairOf("Lead Vox.wav") {
		to++
	}
	take("Organ.wav", to)
	p.Until("both went", `f.store.state.session.at===2`)
	p.settled(o)
	assert.Equal(t, to, p.pairOf("Organ.wav"))
	assert.Equal(t, to, p.pairOf("Lead Vox.wav"))
	p.Quiet()
}

// Files whose names are markup stay words on every leaf and in every dialog.
func TestNamesOfMarkup(t *testing.T) {
	dir := songFolder(t)
	wild := `<img src=x onerror="document.title='hurt'">.wav`
	if err := os.Rename(filepath.Join(dir, "Organ.wav"), filepath.Join(dir, wild)); err != nil {
		t.Skip("such names cannot be here: ", err)
	}
	o := start(t, Options{}, dir)
	o.do(t, Act{Do: "name pair", Pair: 1, Text: `"><script>document.title='hurt'</script>`})
	o.do(t, Act{Do: "title", Text: `<svg onload="document.title='hurt'">`})
	p := openTab(t, pages.Browser(t), o.address)
	p.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	tell[bool](p, `!!(window.markup=()=>[...document.querySelectorAll("img,script:not([src])")].length)`)
	for _, leaf := range tell[[]string](p, `[...document.querySelectorAll(".leaf")].map(b=>b.dataset.leaf)`) {
		p.Press(`[data-leaf="` + leaf + `"].leaf`)
		p.Until(leaf+" is drawn", `document.body.dataset.leaf===`+quote(leaf)+` && document.querySelector("#leaf").innerText.length>40`)
		assert.Zero(t, tell[int](p, `markup()`), leaf)
	}
	p.Press(`[data-leaf="lanes"].leaf`)
	tell[bool](p, `!!document.querySelectorAll(".slipcard").forEach(e=>e.click())||true`)
	p.Until("the note speaks of a track", `document.querySelector("#note .one")`)
	assert.Zero(t, tell[int](p, `markup()`))
	assert.Contains(t, tell[string](p, `document.querySelector(".pairs").innerText`), "<img src=x", "the name can be read")
	assert.NotEqual(t, "hurt", tell[string](p, `document.title`))
	p.Quiet()
}

// The line check and the print check as they are done on the page: cautions first, a recording chosen from a list, what
// was found beside the pairs it is of, the measured channel in the listening bar, the way to the blind test.
func TestChecksInABrowser(t *testing.T) {
	dir := songFolder(t)
	o := start(t, Options{Pairs: 2}, dir)
	n := &newcomer{tab: openTab(t, pages.Browser(t), o.address)}
	n.Until("the tracks are there", `document.querySelectorAll(".slipcard").length===12`)
	n.click("Line check")
	assert.True(t, tell[bool](n.tab, `document.querySelector("#make-tones").disabled`), "no tones before the cautions")
	n.click("The monitors are off and the headphones are out of the way.")
	tell[bool](n.tab, `(()=>{const s=[...document.querySelectorAll("#leaf select")][0];s.selectedIndex=1;s.dispatchEvent(new Event("change"));return true})()`)
	n.click("Make the tones")
	n.Until("they are made", `document.querySelector("#tones-at")`)
	set := o.bench.state().Session.Line.Sets[0]
	assert.Zero(t, set.LevelDB)
	recordReturn(t, set.Dir, filepath.Join(filepath.Dir(dir), "return.wav"), func(p *tones.Plan) *simulate.Chain {
		c := &simulate.Chain{RateHz: p.RateHz, Latency: 500, NoiseDBFS: -100}
		for range p.Sends {
			c.Paths = append(c.Paths, simulate.Path{Second: 0.02, Third: -0.03})
		}
		c.Paths[1].Invert = true
		return c
	})
	n.click("Choose the recording")
	n.click("return.wav")
	n.Until("it is read", `document.querySelector("#line-result .output.fault")`)
	assert.Equal(t, "2", tell[string](n.tab, `document.querySelector(".output.fault").dataset.output`))
	n.Until("its curves are drawn", `document.querySelectorAll(".drawn svg polyline").length>1`)

	// the measured channel, heard
	n.Press("#play")
	n.Until("it plays", `f.player.engine.playing && f.player.engine.position>4800`)
	n.Press("#unit")
	n.Until("the channel can be chosen", `!document.querySelector("#channel").hidden`)
	n.Until("it is bent", `f.player.engine.bend.curve`)
	invented := tell[float64](n.tab, `f.player.engine.bend.curve[16384]`)
	tell[bool](n.tab, `(()=>{const s=document.querySelector("#channel select");s.value="measured";s.dispatchEvent(new Event("change"));return true})()`)
	n.Until("the curve is another", fmt.Sprintf(`Math.abs(f.player.engine.bend.curve[16384]-%g)>1e-4`, invented))
	n.Press("#play")

	n.click("Print check")
	n.click("Choose the print")
	n.click("return.wav")
	n.click("Compare")
	n.Until("what does not belong together is said", `document.querySelector("#leaf .alarmed")`)
	n.Quiet()
}
