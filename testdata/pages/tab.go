package pages

import (
	"context"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/input"
	"github.com/chromedp/cdproto/log"
	browser "github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// shared is the browser of all tests of a package, so that it is started once.
var shared struct {
	once sync.Once
	ctx  context.Context
	end  func()
	err  error
}

// Chromium finds a browser on the PATH; "" where there is none.
func Chromium() string {
	for _, name := range []string{"chromium", "chromium-browser", "google-chrome"} {
		if path, err := exec.LookPath(name); err == nil {
			return path
		}
	}
	return ""
}

// need finds the browser, or skips the test where there is none; in CI there has to be one.
func need(t testing.TB) (path string) {
	t.Helper()
	if testing.Short() {
		t.Skip("starts a browser")
	}
	if path = Chromium(); path == "" {
		missing := "no Chromium on the PATH (chromium, chromium-browser or google-chrome): pages are not looked at"
		if os.Getenv("CI") == "true" {
			t.Fatal(missing)
		}
		t.Skip(missing)
	}
	return path
}

// launch starts a headless browser that keeps its profile in a folder.
func launch(path, profile string) (ctx context.Context, end func(), err error) {
	options := append(chromedp.DefaultExecAllocatorOptions[:], chromedp.ExecPath(path), chromedp.NoSandbox, chromedp.DisableGPU,
		chromedp.Flag("disable-background-networking", true), chromedp.UserDataDir(profile))
	all, endAll := chromedp.NewExecAllocator(context.Background(), options...)
	ctx, endOne := chromedp.NewContext(all)
	if err = chromedp.Do(ctx); err != nil {
		err = fmt.Errorf("%s does not start: %w", path, err)
	}
	return ctx, func() { endOne(); endAll() }, err
}

// Browser is a window of its own, with no memory of others, in the one headless Chromium of this package's tests. It skips
// the test where there is none; in CI there has to be one. Call End when all tests are done.
func Browser(t testing.TB) context.Context {
	t.Helper()
	path := need(t)
	shared.once.Do(func() {
		var dir string
		if dir, shared.err = os.MkdirTemp("", "foldout-browser-*"); shared.err != nil {
			return
		}
		var end func()
		shared.ctx, end, shared.err = launch(path, filepath.Join(dir, "profile"))
		shared.end = func() {
			end()
			os.RemoveAll(dir) //nolint:errcheck // a folder of the test
		}
	})
	require.NoError(t, shared.err)
	ctx, stop := chromedp.NewContext(shared.ctx, chromedp.WithNewBrowserContext())
	t.Cleanup(stop)
	require.NoError(t, chromedp.Do(ctx))
	return ctx
}

// End ends the browser of this package's tests.
func End() {
	if shared.end != nil {
		shared.end()
	}
}

// Tab is a page of the workbench in a browser, and what it complained of. The page's own handle on itself is window.foldout,
// f in expressions.
type Tab struct {
	testing.TB
	Ctx  context.Context
	mu   sync.Mutex
	said []string
}

// Patience is how long one thing may take on a busy machine.
const Patience = 90 * time.Second

// OpenTab opens an address in a window that Browser gave.
func OpenTab(t testing.TB, window context.Context, address string) *Tab {
	t.Helper()
	ctx, stop := chromedp.NewContext(window)
	t.Cleanup(stop)
	p := &Tab{TB: t, Ctx: ctx}
	require.NoError(t, chromedp.Listen(ctx, func(event any) {
		p.mu.Lock()
		defer p.mu.Unlock()
		switch e := event.(type) {
		case *browser.EventExceptionThrown:
			p.said = append(p.said, "exception: "+e.ExceptionDetails.Text+" "+e.ExceptionDetails.Exception.Description)
		case *log.EventEntryAdded:
			p.said = append(p.said, "log: "+e.Entry.Text+" "+e.Entry.URL)
		}
	}))
	p.Do(chromedp.EmulateViewport(1280, 1400), chromedp.Navigate(address))
	return p
}

// Do does things in the tab.
func (p *Tab) Do(actions ...chromedp.Action[chromedp.Void]) {
	p.Helper()
	ctx, stop := context.WithTimeout(p.Ctx, Patience)
	defer stop()
	require.NoError(p, chromedp.Do(ctx, actions...))
}

// Tell evaluates an expression in the page.
func Tell[T any](p *Tab, expression string) T {
	p.Helper()
	ctx, stop := context.WithTimeout(p.Ctx, Patience)
	defer stop()
	out, err := chromedp.Run(ctx, chromedp.Evaluate[T]("(async()=>{const f=window.foldout;return "+expression+"})()", chromedp.EvalAwaitPromise))
	require.NoError(p, err, "%s", expression)
	return out
}

// Until waits until an expression is true.
func (p *Tab) Until(what, expression string) {
	p.Helper()
	end := time.Now().Add(Patience)
	for !Tell[bool](p, "!!("+expression+")") {
		if time.Now().After(end) {
			p.Fatalf("%s: never %s", what, expression)
		}
		time.Sleep(30 * time.Millisecond)
	}
}

// Soon measures again and again until a figure is as it must be: the sound of a busy machine comes late.
func (p *Tab) Soon(what, expression string, ok func(float64) bool) {
	p.Helper()
	end := time.Now().Add(Patience)
	for {
		v := Tell[float64](p, expression)
		if ok(v) {
			return
		}
		if time.Now().After(end) {
			p.Fatalf("%s: still %g", what, v)
		}
	}
}

// At is the middle of an element once it is in the view and lies still there for two frames.
func (p *Tab) At(selector string) (x, y float64) {
	p.Helper()
	box := Tell[[]float64](p, fmt.Sprintf(`(async()=>{const e=document.querySelector(%q);e.scrollIntoView({block:"nearest"});let b=[],still=0;
		while(still<2){const r=e.getBoundingClientRect(),a=[r.x+r.width/2,r.y+Math.min(r.height/2,30)];still=a[0]===b[0]&&a[1]===b[1]?still+1:0;b=a;await new Promise(d=>setTimeout(d,17))}return b})()`, selector))
	return box[0], box[1]
}

// Mouse sends one event of the left button.
func (p *Tab) Mouse(kind input.DispatchMouseEventType, x, y float64) {
	p.Helper()
	p.Do(chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, input.DispatchMouseEvent, input.DispatchMouseEventParams{Type: kind, X: x, Y: y, Button: input.MouseButtonLeft, Buttons: 1, ClickCount: 1})
		return err
	}))
}

// Drag takes one element to another by mouse; .under marks what it hangs over.
func (p *Tab) Drag(from, to string) {
	p.Helper()
	p.At(from) // both are on the page before the place of one is read
	toX, toY := p.At(to)
	x, y := p.At(from)
	p.Mouse("mousePressed", x, y)
	for k := range 12 {
		s := float64(k+1) / 12
		p.Mouse("mouseMoved", x+(toX-x)*s, y+(toY-y)*s)
	}
	p.Until("the slip hangs over its pair", `document.querySelector(".under")`)
	p.Mouse("mouseReleased", toX, toY)
}

// Press clicks an element.
func (p *Tab) Press(selector string) {
	p.Helper()
	x, y := p.At(selector)
	p.Mouse("mousePressed", x, y)
	p.Mouse("mouseReleased", x, y)
}

// Keys types.
func (p *Tab) Keys(keys string, modifiers ...chromedp.Modifier) {
	p.Helper()
	p.Do(chromedp.KeyEvent(keys, chromedp.KeyModifiers(modifiers...)))
}

// Quiet fails where the page complained of something.
func (p *Tab) Quiet() {
	p.Helper()
	p.mu.Lock()
	defer p.mu.Unlock()
	slices.Sort(p.said)
	assert.Empty(p, slices.Compact(p.said))
}

// Forget forgets what the page complained of, as it must where its server is taken away.
func (p *Tab) Forget() {
	p.mu.Lock()
	defer p.mu.Unlock()
	p.said = nil
}
