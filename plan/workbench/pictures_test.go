package workbench

import (
	"context"
	"fmt"
	"os"
	"path/filepath"
	"testing"

	"foldout/testdata/pages"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/chromedp"
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

// Pictures of every leaf at three widths in both themes, to be looked at: FOLDOUT_PICTURES=DIR, and FOLDOUT_SESSION=FOLDER
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
	p.Until("the pairs are measured", `f.store.state.session.loads==="" && f.store.state.session.misfits>=0`)
	p.Press(".slipcard")
	p.Until("the argument is there", `document.querySelector(".nearness")`)
	for name, path := range map[string]string{"trace": target + "-return.wav", "compare": target + "-print.wav"} { // as foldout demo --studio leaves them
		if _, err := os.Stat(path); err != nil {
			continue
		}
		if sets := o.bench.state().Session.Line.Sets; name == "compare" {
			require.Equal(t, 200, o.post(t, "print/compare", map[string]string{"print": path}, nil))
		} else if len(sets) > 0 {
			require.Equal(t, 200, o.post(t, "line/read", map[string]string{"set": sets[0].Name, "path": path}, nil))
		} else {
			continue
		}
		require.Empty(t, o.done(t, name))
	}
	for _, scheme := range []string{"light", "dark"} {
		p.theme(scheme)
		for _, wide := range []int64{820, 1280, 1920} {
			p.Do(chromedp.EmulateViewport(wide, 1000))
			for _, leaf := range tell[[]string](p, `[...document.querySelectorAll(".leaf")].map(b=>b.dataset.leaf)`) {
				p.Press(`[data-leaf="` + leaf + `"].leaf`)
				p.Until("the leaf is drawn", `document.body.dataset.leaf===`+quote(leaf)+` && document.querySelector("#leaf").innerText.length>40 && !document.querySelector(".drawn:empty")`)
				data, err := chromedp.Run(p.Ctx, chromedp.CaptureScreenshot())
				require.NoError(t, err)
				require.NoError(t, os.WriteFile(filepath.Join(dir, fmt.Sprintf("%s-%04d-%s.png", leaf, wide, scheme)), data, 0o666))
			}
		}
	}
}
