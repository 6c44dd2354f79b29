package report

import (
	"context"
	_ "embed"
	"fmt"
	"net/url"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/cdp"
	"github.com/chromedp/cdproto/emulation"
	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/network"
	cdppage "github.com/chromedp/cdproto/page"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
	"foldout/testdata/pages"
)

//go:embed testdata/inspect.js
var inspect string

// opened is a page in a browser tab, and what the tab said.
type opened struct {
	context.Context
	mu       sync.Mutex
	said     []string // console messages, exceptions, log entries
	requests []string
}

// open writes the page to a file and opens it in a new tab.
func open(t *testing.T, parent context.Context, p Page) *opened {
	t.Helper()
	file := filepath.Join(t.TempDir(), "page.html")
	require.NoError(t, os.WriteFile(file, []byte(write(t, p)), 0o600))
	ctx, stop := chromedp.NewContext(parent)
	t.Cleanup(stop)
	o := &opened{Context: ctx}
	require.NoError(t, chromedp.Listen(ctx, func(event any) {
		o.mu.Lock()
		defer o.mu.Unlock()
		switch e := event.(type) {
		case *runtime.EventConsoleAPICalled:
			o.said = append(o.said, fmt.Sprintf("console: %s %v", e.Type, e.Args))
		case *runtime.EventExceptionThrown:
			o.said = append(o.said, "exception: "+e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			o.said = append(o.said, "log: "+e.Entry.Text)
		case *cdppage.EventJavascriptDialogOpening:
			o.said = append(o.said, "dialog: "+e.Message)
		case *network.EventRequestWillBeSent:
			o.requests = append(o.requests, e.Request.URL)
		}
	}))
	_, err := chromedp.Call(ctx, network.Enable, network.EnableParams{})
	require.NoError(t, err)
	o.run(t, chromedp.EmulateViewport(1280, 900), chromedp.Navigate((&url.URL{Scheme: "file", Path: file}).String()))
	return o
}

// patience is how long the browser may take for one thing.
const patience = time.Minute

func (o *opened) run(t *testing.T, actions ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	ctx, stop := context.WithTimeout(o, patience)
	defer stop()
	require.NoError(t, chromedp.Do(ctx, actions...))
}

// ask evaluates a function of testdata/inspect.js.
func ask[T any](t *testing.T, o *opened, call string) T {
	t.Helper()
	ctx, stop := context.WithTimeout(o, patience)
	defer stop()
	answer, err := chromedp.Run(ctx, chromedp.Evaluate[T]("(()=>{"+inspect+"\nreturn "+call+"})()"))
	require.NoError(t, err)
	return answer
}

func (o *opened) sound(t *testing.T, when string) {
	t.Helper()
	assert.Empty(t, ask[[]string](t, o, "spilt()"), "%s: text beyond its box", when)
	assert.Empty(t, ask[[]string](t, o, "faint(4.5)"), "%s: contrast below 4.5:1 (WCAG 2.2, 1.4.3)", when)
	assert.Empty(t, ask[[]string](t, o, "mute()"), "%s: without a name for those who cannot see it", when)
}

func (o *opened) quiet(t *testing.T) {
	t.Helper()
	o.mu.Lock()
	defer o.mu.Unlock()
	assert.Empty(t, o.said)
	for _, r := range o.requests {
		assert.Regexp(t, `^(file:///.*/page\.html|data:,)$`, r, "a request leaves the file")
	}
	assert.NotEmpty(t, o.requests)
}

// media makes the page believe in a kind of screen or paper.
func media(kind, scheme string) chromedp.Action[chromedp.Void] {
	return chromedp.Func(func(ctx context.Context, t *chromedp.Target) error {
		_, err := cdp.Call(ctx, t, emulation.SetEmulatedMedia, emulation.SetEmulatedMediaParams{Media: kind, Features: []*emulation.MediaFeature{{Name: "prefers-color-scheme", Value: scheme}}})
		return err
	})
}

var light, dark, paper = media("screen", "light"), media("screen", "dark"), media("print", "light")

// Widths of the printed area in CSS pixels, 96 to the inch: A4 and US Letter less margins of 11 mm.
const (
	a4Wide     = 710
	letterWide = 733
)

func TestPagesInABrowser(t *testing.T) {
	ctx := pages.Start(t)
	all := wholePage(t, 24, 4)
	for _, c := range []struct {
		name string
		page Page
	}{
		{"report of 24 tracks on 4 pairs", all},
		{"suggestion for 56 tracks on 8 pairs", Page{Sheet: invented(56, 8)}},
		{"report of 100 tracks on 16 pairs", wholePage(t, 100, 16)},
		{"one track", wholePage(t, 1, 1)},
		{"check", Page{Check: judged()}},
		{"sweep", Page{Sweep: all.Sweep}},
		{"levels", Page{Levels: all.Levels}},
		{"patch", Page{Patch: all.Patch}},
	} {
		t.Run(c.name, func(t *testing.T) {
			o := open(t, ctx, c.page)
			for _, wide := range []int64{1280, 1920, 820} {
				o.run(t, light, chromedp.EmulateViewport(wide, 900))
				o.sound(t, fmt.Sprintf("%d px, light", wide))
			}
			o.run(t, dark, chromedp.EmulateViewport(1280, 900))
			o.sound(t, "dark")
			for _, wide := range []int64{a4Wide, letterWide} {
				o.run(t, paper, chromedp.EmulateViewport(wide, 1000))
				o.sound(t, fmt.Sprintf("print, %d px", wide))
			}
			if c.page.Sheet != nil {
				var want []string
				for _, p := range c.page.Sheet.Pairs {
					for _, track := range p.Tracks {
						want = append(want, trackName(track.File))
					}
				}
				assert.Equal(t, want, ask[[]string](t, o, "texts('.slip .track bdi')"), "every track, in order")
				assert.Len(t, ask[[]string](t, o, "texts('.lane h3 bdi')"), len(c.page.Sheet.Pairs), "every pair")
			}
			o.quiet(t)
		})
	}
}

func TestDarkIsDark(t *testing.T) {
	o := open(t, pages.Start(t), Page{Sheet: invented(8, 2)})
	o.run(t, light)
	assert.Greater(t, ask[float64](t, o, "brightness()"), 0.75)
	o.run(t, dark)
	assert.Less(t, ask[float64](t, o, "brightness()"), 0.05)
}

func TestReasonsOpenByKeyboard(t *testing.T) {
	o := open(t, pages.Start(t), Page{Sheet: invented(6, 2)})
	count := func() int { return ask[int](t, o, "shown('.slip .rest').length") }
	assert.Zero(t, count())
	o.run(t, chromedp.Focus(chromedp.CSS(".slip summary")), chromedp.KeyEvent("\r"))
	assert.Equal(t, 1, count(), "the first strip's")
	o.run(t, chromedp.Focus(chromedp.CSS("#every")), chromedp.KeyEvent(" "))
	assert.Equal(t, 6, count(), "those of all strips")
	order := ask[[]string](t, o, "stops()")
	require.NotEmpty(t, order)
	assert.Equal(t, "Skip to the result", order[0], "the first stop of the tabulator")
	o.quiet(t)
}

// hostile names try to leave their place in the page.
var hostile = []string{
	`<script>alert(1)</script>`, `</style><script>alert(2)</script>`, `"><img src=x onerror=alert(3)>`, `'quoted' & "double" <b>bold</b>`, `javascript:alert(4)`,
	`{{.Title}}`, `]]></svg><script>alert(5)</script>`, `&lt;script&gt;`, "שירה ראשית", "غناء رئيسي", "🥁 kick 🎤👩‍🎤", "\u202egnol.kcik", "tab\tand\nline",
	strings.Repeat("W", 200), strings.Repeat("long name ", 20), "ﷺﷺﷺ", "Zalgo" + strings.Repeat("\u0335\u0353", 10),
}

func TestHostileNamesStayText(t *testing.T) {
	s := invented(2*len(hostile), 3)
	s.Title = hostile[0]
	k := 0
	for p := range s.Pairs {
		s.Pairs[p].Name, s.Pairs[p].Reason = hostile[p], hostile[p+3]
		for i := range s.Pairs[p].Tracks {
			track := &s.Pairs[p].Tracks[i]
			track.File = hostile[k%len(hostile)] + strings.Repeat(" ", k/len(hostile)) + ".wav"
			track.Bus, track.RunnerUp = hostile[(k+5)%len(hostile)], hostile[(p+1)%3]
			track.Reasons[0].Fact, track.Reasons[1].Fact = hostile[(k+7)%len(hostile)], hostile[(k+9)%len(hostile)]
			k++
		}
	}
	s.SetAside[0] = sheet.SetAside{File: hostile[2], Reason: hostile[1]}
	s.Warnings = hostile
	s.Settings.Tie = hostile[:3]
	page, err := whole(s)
	require.NoError(t, err)
	page.Levels.Title, page.Levels.Unit, page.Levels.Notes = hostile[1], hostile[2], hostile
	page.Sweep.Advice, page.Sweep.Points[0].Buys = hostile[0], hostile[1]
	page.Patch.Notes = hostile
	page.Check = judged()
	page.Check.Sheet, page.Check.Misfits[0].File, page.Check.Missing = hostile[0], hostile[2], hostile
	page.Warnings = hostile

	o := open(t, pages.Start(t), page)
	assert.Zero(t, ask[int](t, o, "document.querySelectorAll('script,img,iframe,object,embed,bdi>*').length"), "no element came in with a name")
	assert.Empty(t, ask[[]string](t, o, "handlers()"))
	shown := ask[[]string](t, o, "texts('.slip .track bdi')")
	for k, name := range hostile {
		want := strings.Join(strings.Fields(trackName(name+".wav")), " ")
		found := false
		for _, text := range shown {
			found = found || strings.Join(strings.Fields(text), " ") == want
		}
		assert.True(t, found, "name %d, %q, is not on the page as it is", k, name)
	}
	for _, wide := range []int64{1280, 820} {
		o.run(t, light, chromedp.EmulateViewport(wide, 900))
		o.sound(t, fmt.Sprintf("%d px", wide))
	}
	o.run(t, paper, chromedp.EmulateViewport(a4Wide, 1000))
	o.sound(t, "print")
	o.quiet(t)
}

// papers in inches.
var papers = []struct {
	name string
	size chromedp.PaperSize
}{{"A4", chromedp.PaperA4}, {"US Letter", chromedp.PaperLetter}}

func TestPrintedPages(t *testing.T) {
	ctx := pages.Start(t)
	for _, c := range []struct {
		name          string
		page          Page
		tracks, pairs int
		atMost        int // pages
	}{
		{"24 tracks on 4 pairs, everything", wholePage(t, 24, 4), 24, 4, 4},
		{"48 tracks on 8 pairs, suggestion", Page{Sheet: invented(48, 8)}, 48, 8, 5},
		{"100 tracks on 16 pairs, everything", wholePage(t, 100, 16), 100, 16, 14},
	} {
		o := open(t, ctx, c.page)
		for _, size := range papers {
			t.Run(c.name+" on "+size.name, func(t *testing.T) {
				ctx, stop := context.WithTimeout(o, patience)
				defer stop()
				pdf, err := chromedp.Run(ctx, chromedp.PrintToPDF(chromedp.PDFPaper(size.size)))
				require.NoError(t, err)
				pages := len(regexp.MustCompile(`/Type\s*/Page\b`).FindAll(pdf, -1))
				assert.Positive(t, pages)
				assert.LessOrEqual(t, pages, c.atMost)
				lanesStayWhole(t, pdf, c.tracks, c.pairs)
			})
		}
	}
}

// lanesStayWhole reads the words of the PDF page by page: the marks of all tracks of a lane have to be on one page.
func lanesStayWhole(t *testing.T, pdf []byte, tracks, pairs int) {
	t.Helper()
	tool, err := exec.LookPath("pdftotext")
	if err != nil {
		if os.Getenv("CI") == "true" {
			t.Fatal("pdftotext is missing (package poppler-utils)")
		}
		t.Log("no pdftotext: where the pages break is not looked at")
		return
	}
	cmd := exec.Command(tool, "-", "-")
	cmd.Stdin = strings.NewReader(string(pdf))
	out, err := cmd.Output()
	require.NoError(t, err)
	on := map[int]map[int]bool{}
	for n, text := range strings.Split(string(out), "\f") {
		for track := range tracks {
			if strings.Contains(text, mark(track)) {
				pair := track % pairs
				if on[pair] == nil {
					on[pair] = map[int]bool{}
				}
				on[pair][n] = true
			}
		}
	}
	for pair := range pairs {
		assert.Len(t, on[pair], 1, "pair %d is split over pages", pair+1)
	}
}
