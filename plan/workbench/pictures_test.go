package workbench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"foldout/plan/linecheck/simulate"
	"foldout/plan/linecheck/tones"
	"foldout/testdata/pages"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// theme shows the page in light or dark.
func (p *tab) theme(scheme string) {
	p.Helper()
	p.Do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	}))
}

// Pictures of every leaf at four widths in both themes, to be looked at: FOLDOUT_PICTURES=DIR, and FOLDOUT_SESSION=FOLDER
// for another song than that of the tests.
func TestPicturesOfEveryLeaf(t *testing.T) {
	dir := os.Getenv("FOLDOUT_PICTURES")
	if dir == "" {
		t.Skip("pictures are drawn where FOLDOUT_PICTURES names a folder")
	}
	require.NoError(t, os.MkdirAll(dir, 0o777))
	target := os.Getenv("FOLDOUT_SESSION")
	if target == "" {
		target = songFolder(t)
	}
	o := start(t, Options{}, target)
	p := openTab(t, pages.Browser(t), o.address)
	p.Until("the tracks are there", `document.querySelector(".slipcard")`)
	p.Until("the pairs are measured", `f.store.state.session.loads!=="measuring" && f.store.state.session.misfits>=0`)
	p.Press(".slipcard")
	p.Until("the argument is there", `document.querySelector(".nearness")`)
	if o.bench.state().Session.Mute == "" { // a loop with a fault, and a print where there is one, as foldout demo --studio leaves it
		returned := filepath.Join(t.TempDir(), "return.wav")
		require.Equal(t, 200, o.post(t, "line/tones", map[string]any{"level_db": 0, "quick": true, "careful": true}, nil))
		require.Empty(t, o.done(t, "tones"))
		sets := o.bench.state().Session.Line.Sets
		set := sets[len(sets)-1]
		t.Cleanup(func() { assert.NoError(t, os.RemoveAll(set.Dir)) })
		recordReturn(t, set.Dir, returned, func(plan *tones.Plan) *simulate.Chain {
			c := &simulate.Chain{RateHz: plan.RateHz, Latency: 500, NoiseDBFS: -100}
			for range plan.Sends {
				c.Paths = append(c.Paths, simulate.Path{Second: 0.02, Third: -0.03})
			}
			c.Paths[1].Invert = true
			return c
		})
		require.Equal(t, 200, o.post(t, "line/read", map[string]string{"set": set.Name, "path": returned}, nil))
		require.Empty(t, o.done(t, "trace"))
		if _, err := os.Stat(target + "-print.wav"); err == nil {
			require.Equal(t, 200, o.post(t, "print/compare", map[string]string{"print": target + "-print.wav"}, nil))
			require.Empty(t, o.done(t, "compare"))
		}
	}
	const leafOf = `[data-leaf="%s"].leaf`
	// views are the leaves, and the lanes in more states than the first
	type view struct{ name, leaf, prepare, until, after string }
	var views []view
	for _, leaf := range tell[[]string](p, `[...document.querySelectorAll(".leaf")].map(b=>b.dataset.leaf)`) {
		views = append(views, view{name: leaf, leaf: leaf})
	}
	views = append(views,
		view{"hear", "lanes", `document.querySelector("#unit").click()`, `f.player.through==="through"`, `document.querySelector("#unit").click()`},
		view{"offer", "lanes", `[...document.querySelectorAll(".tools button")].find(b=>b.innerText==="More pairs").click()`, `document.querySelector("#take-offer")`, `document.querySelector("#take-offer").nextSibling.click()`},
		view{"several", "lanes", `document.querySelectorAll(".bus")[0].click()`, `f.store.chosen.size>1`, `document.querySelector(".slipcard").click()`},
		view{"sheet", "lanes", `document.body.dispatchEvent(new KeyboardEvent("keydown",{key:"Escape",bubbles:true}))`, `f.store.chosen.size===0`, `document.querySelector(".slipcard").click()`},
		view{"compare", "versions", `document.querySelector(".versions button")?.click()`, `document.querySelector("#compared")`, `0`})
	tell[bool](p, `(f.act({name:"As it came"},"version"),true)`)
	if first := `f.store.state.session.lanes[0].tracks[0].file`; len(o.bench.state().Session.Lanes) > 1 { // the version that is compared differs
		p.Until("the version is kept", `f.store.state.session.versions.length>0`)
		tell[bool](p, `f.act({do:"move",tracks:[`+first+`],pair:2})`)
	}
	for _, scheme := range []string{"light", "dark"} {
		p.theme(scheme)
		for _, wide := range []int64{820, 1280, 1920, 2560} {
			for _, v := range views {
				high := max(1000, wide*9/16)
				p.Do(chromedp.EmulateViewport(wide, high))
				p.Press(fmt.Sprintf(leafOf, v.leaf))
				p.Until("the leaf is drawn", `document.body.dataset.leaf===`+quote(v.leaf)+` && document.querySelector("#leaf").innerText.length>40 && !document.querySelector(".drawn:empty")`)
				if v.prepare != "" {
					tell[bool](p, `(`+v.prepare+`,true)`)
					p.Until("it is as it is to be seen", v.until)
				}
				if v.leaf != "lanes" { // the whole leaf, however long
					long := tell[int64](p, `(()=>{const l=document.querySelector("#leaf");l.scrollTop=0;return l.scrollHeight-l.clientHeight})()`)
					p.Do(chromedp.EmulateViewport(wide, min(high+long, 5000)))
				}
				p.Until("faces are there", `document.fonts.ready.then(()=>new Promise(r=>requestAnimationFrame(()=>requestAnimationFrame(()=>r(true)))))`)
				data, err := chromedp.Run(p.Ctx, chromedp.CaptureScreenshot())
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%04d-%s.png", v.name, wide, scheme)), data, 0o666))
				if v.after != "" {
					tell[bool](p, `(`+v.after+`,true)`)
				}
			}
		}
	}
}
