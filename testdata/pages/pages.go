// Package pages looks at an HTML page in a real browser: in light, dark and on paper, at several widths. It is for tests.
package pages

import (
	"context"
	"fmt"
	"net/url"
	"os"
	"path/filepath"
	"regexp"
	"runtime"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	browser "github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// patience is how long the browser may take for one thing.
const patience = time.Minute

// Page is a page in a tab.
type Page struct {
	context.Context
	mu       sync.Mutex
	said     []string
	requests []string
	inspect  string
}

// Open opens a page in a headless Chromium (see Start).
func Open(t *testing.T, html []byte) *Page {
	t.Helper()
	tab := Start(t)
	_, here, _, _ := runtime.Caller(0)
	inspect, err := os.ReadFile(filepath.Join(filepath.Dir(here), "..", "..", "plan", "report", "testdata", "inspect.js"))
	require.NoError(t, err)
	file := filepath.Join(t.TempDir(), "page.html")
	require.NoError(t, os.WriteFile(file, html, 0o600))
	p := &Page{Context: tab, inspect: string(inspect)}
	require.NoError(t, chromedp.Listen(p, func(event any) {
		p.mu.Lock()
		defer p.mu.Unlock()
		switch e := event.(type) {
		case *browser.EventConsoleAPICalled:
			p.said = append(p.said, fmt.Sprintf("console: %s %v", e.Type, e.Args))
		case *browser.EventExceptionThrown:
			p.said = append(p.said, "exception: "+e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			p.said = append(p.said, "log: "+e.Entry.Text)
		case *network.EventRequestWillBeSent:
			p.requests = append(p.requests, e.Request.URL)
		}
	}))
	_, err = chromedp.Call(p, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	p.Run(t, chromedp.EmulateViewport(1280, 900), chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String()))
	return p
}

// Start starts a headless Chromium of the test's own with one tab, or skips the test where there is none; in CI there has to be one.
func Start(t *testing.T) context.Context {
	t.Helper()
	path := need(t)
	ctx, end, err := launch(path, t.TempDir())
	t.Cleanup(end)
	require.NoError(t, err)
	return ctx
}

// Run does things in the tab.
func (p *Page) Run(t *testing.T, actions ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	ctx, stop := context.WithTimeout(p, patience)
	defer stop()
	require.NoError(t, chromedp.Do(ctx, actions...))
}

// Ask evaluates a call of a function of plan/report/testdata/inspect.js, or any expression.
func Ask[T any](t *testing.T, p *Page, call string) T {
	t.Helper()
	ctx, stop := context.WithTimeout(p, patience)
	defer stop()
	answer, err := chromedp.Run(ctx, chromedp.Evaluate[T]("(()=>{"+p.inspect+"\nreturn "+call+"})()"))
	require.NoError(t, err)
	return answer
}

// Widths of the printed area in CSS pixels, 96 to the inch: A4 and US Letter less margins of 11 mm.
const (
	a4Wide     = 710
	letterWide = 733
)

// Sound looks at the page at several widths, in light, dark and on paper: no text beyond its box, contrast of at least
// 4.5:1 (WCAG 2.2, 1.4.3), everything with a name, nothing asked for outside the file, nothing said on the console.
func (p *Page) Sound(t *testing.T) {
	t.Helper()
	for _, c := range []struct {
		kind, scheme string
		wide         int64
	}{{"screen", "light", 1280}, {"screen", "light", 1920}, {"screen", "light", 820}, {"screen", "dark", 1280}, {"print", "light", a4Wide}, {"print", "light", letterWide}} {
		p.Run(t, media(c.kind, c.scheme), chromedp.EmulateViewport(c.wide, 900))
		when := fmt.Sprintf("%s, %s, %d px", c.kind, c.scheme, c.wide)
		assert.Empty(t, Ask[[]string](t, p, "spilt()"), "%s: text beyond its box", when)
		assert.Empty(t, Ask[[]string](t, p, "faint(4.5)"), "%s: contrast", when)
		assert.Empty(t, Ask[[]string](t, p, "mute()"), "%s: without a name", when)
		bright := Ask[float64](t, p, "brightness()")
		if c.scheme == "dark" {
			assert.Less(t, bright, 0.05, when)
		} else {
			assert.Greater(t, bright, 0.75, when)
		}
	}
	p.Run(t, media("screen", "light"), chromedp.EmulateViewport(1280, 900))
	assert.Zero(t, Ask[int](t, p, "document.querySelectorAll('script,img,iframe,object,embed,bdi>*').length"), "elements that do not belong")
	assert.Empty(t, Ask[[]string](t, p, "handlers()"))
	p.mu.Lock()
	defer p.mu.Unlock()
	assert.Empty(t, p.said)
	assert.NotEmpty(t, p.requests)
	for _, r := range p.requests {
		assert.Regexp(t, `^(file:///.*/page\.html|data:,)$`, r, "a request leaves the file")
	}
}

// Papers prints the page on A4 and US Letter and returns how many pages that takes.
func (p *Page) Papers(t *testing.T) (a4, letter int) {
	t.Helper()
	p.Run(t, media("print", "light"))
	for _, c := range []struct {
		size  chromedp.PaperSize
		pages *int
	}{{chromedp.PaperA4, &a4}, {chromedp.PaperLetter, &letter}} {
		ctx, stop := context.WithTimeout(p, patience)
		pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(c.size)))
		stop()
		require.NoError(t, err)
		*c.pages = len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
	}
	return a4, letter
}

// media makes the page believe in a kind of screen or paper.
func media(kind, scheme string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	})
}
