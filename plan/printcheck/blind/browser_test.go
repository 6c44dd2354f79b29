package blind

import (
	"context"
	"fmt"
	"sync"
	"testing"
	"time"

	"github.com/chromedp/cdproto/log"
	"github.com/chromedp/cdproto/runtime"
	"github.com/chromedp/chromedp"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/pages"
)

// tab is a page in a real browser, and what it complained of.
type tab struct {
	context.Context
	mu   sync.Mutex
	said []string
}

func browse(t *testing.T, address string) *tab {
	t.Helper()
	ctx := pages.Start(t)
	b := &tab{Context: ctx}
	require.NoError(t, chromedp.Listen(ctx, func(event any) {
		b.mu.Lock()
		defer b.mu.Unlock()
		switch e := event.(type) {
		case *runtime.EventExceptionThrown:
			b.said = append(b.said, "exception: "+e.ExceptionDetails.Text)
		case *log.EventEntryAdded:
			b.said = append(b.said, "log: "+e.Entry.Text)
		}
	}))
	b.run(t, chromedp.EmulateViewport(1100, 900), chromedp.Navigate(address))
	return b
}

func (b *tab) run(t *testing.T, actions ...chromedp.Action[chromedp.Void]) {
	t.Helper()
	ctx, stop := context.WithTimeout(b, time.Minute)
	defer stop()
	require.NoError(t, chromedp.Do(ctx, actions...))
}

func ask[T any](t *testing.T, b *tab, script string) T {
	t.Helper()
	ctx, stop := context.WithTimeout(b, time.Minute)
	defer stop()
	v, err := chromedp.Run(ctx, chromedp.Evaluate[T](script))
	require.NoError(t, err, script)
	return v
}

// until waits for a condition of the page.
func (b *tab) until(t *testing.T, condition string) {
	t.Helper()
	require.Eventually(t, func() bool { return ask[bool](t, b, "!!("+condition+")") }, time.Minute, 30*time.Millisecond, condition)
}

func (b *tab) quiet(t *testing.T) {
	t.Helper()
	b.mu.Lock()
	defer b.mu.Unlock()
	assert.Empty(t, b.said)
}

// press sends a key to the page.
func (b *tab) press(t *testing.T, key string) {
	t.Helper()
	ask[bool](t, b, fmt.Sprintf("document.body.dispatchEvent(new KeyboardEvent('keydown', {key: %q, bubbles: true}))", key))
}

func TestAWholeTestInABrowser(t *testing.T) {
	x := newTest(t)
	b := browse(t, server(t, x))
	b.until(t, "window.page && page.state && !document.getElementById('idle').hidden")
	b.run(t, chromedp.Click("#start"))
	b.until(t, "page.state.phase === 'running' && page.ready")
	assert.False(t, ask[bool](t, b, "JSON.stringify(page.state).includes('order')"))

	// Sound: time goes on, and X, A and B are heard at one and the same place.
	b.run(t, chromedp.Click("#sounds [data-name=x]"))
	b.until(t, "page.player.playing && page.player.context.state === 'running'")
	before := ask[float64](t, b, "page.player.context.currentTime")
	time.Sleep(150 * time.Millisecond)
	assert.Greater(t, ask[float64](t, b, "page.player.context.currentTime"), before, "the audio clock advances")
	began := ask[float64](t, b, "page.player.began")
	b.press(t, "a")
	assert.Equal(t, "a", ask[string](t, b, "page.player.heard"))
	assert.Equal(t, began, ask[float64](t, b, "page.player.began"), "switching does not start anew: the same sample goes on")
	b.until(t, "page.player.voices.get('a').gain.gain.value > 0.99 && page.player.voices.get('x').gain.gain.value < 0.01")
	assert.Equal(t, 3.0, ask[float64](t, b, "page.player.voices.size"))

	// A loop by the pointer; back to all by key.
	ask[bool](t, b, `(() => { const w = document.getElementById('wave'), r = w.getBoundingClientRect(); w.setPointerCapture = () => {};
		for (const [type, x] of [['pointerdown', 0.25], ['pointermove', 0.5], ['pointerup', 0.75]])
			w.dispatchEvent(new PointerEvent(type, {clientX: r.left + x * r.width, clientY: r.top + 5, pointerId: 1, bubbles: true}));
		return true; })()`)
	b.until(t, "page.player.loop && Math.abs(page.player.loop[0] - 0.5) < 0.02 && Math.abs(page.player.loop[1] - 1.5) < 0.02")
	time.Sleep(200 * time.Millisecond)
	place := ask[float64](t, b, "page.player.place")
	assert.True(t, place >= 0.49 && place <= 1.51, "%v lies in the loop", place)
	b.press(t, "l")
	b.until(t, "page.player.loop === null")

	assert.True(t, ask[bool](t, b, "document.getElementById('confirm').disabled"), "no answer yet")
	const wrong = 2
	for i := 1; i <= 16; i++ {
		b.until(t, fmt.Sprintf("page.ready && page.state.trial === %d", i))
		b.press(t, "x")
		b.until(t, "page.player.playing")
		x.mu.Lock()
		answer := x.order[i-1]
		x.mu.Unlock()
		if i <= wrong {
			answer = 1 - answer
		}
		b.press(t, []string{"ArrowLeft", "ArrowRight"}[answer])
		b.until(t, "!document.getElementById('confirm').disabled")
		b.press(t, "Enter")
	}
	b.until(t, "page.state.phase === 'ended' && !document.getElementById('ended').hidden")
	verdict := ask[string](t, b, "document.getElementById('verdict').textContent")
	assert.Contains(t, verdict, "14 of 16: heard.")
	assert.Contains(t, verdict, "p = 0.0021") // scipy.stats.binom.sf(13, 16, 0.5) = 0.0020904541
	assert.Equal(t, 17.0, ask[float64](t, b, "document.querySelectorAll('#log tr').length"))
	assert.FileExists(t, x.result.SavedAs)
	b.quiet(t)
}

func TestPreferenceAndReloadInABrowser(t *testing.T) {
	x := newTest(t)
	at := server(t, x)
	b := browse(t, at)
	b.until(t, "window.page && page.state && !document.getElementById('idle').hidden")
	b.run(t, chromedp.Click("input[value=preference]"), chromedp.Click("#start"))
	b.until(t, "page.state.phase === 'running' && page.ready")
	assert.Equal(t, 2.0, ask[float64](t, b, "document.querySelectorAll('#sounds button').length"))
	for i := 1; i <= 3; i++ {
		b.until(t, fmt.Sprintf("page.ready && page.state.trial === %d", i))
		b.press(t, "1")
		b.until(t, "page.player.playing && page.player.heard === 'first'")
		b.press(t, "2")
		b.until(t, "page.player.heard === 'second'")
		b.press(t, "ArrowLeft")
		b.until(t, "!document.getElementById('confirm').disabled")
		b.press(t, "Enter")
	}
	b.until(t, "page.ready && page.state.trial === 4")
	b.run(t, chromedp.Navigate(at))
	b.until(t, "window.page && page.ready && page.state.trial === 4")
	assert.Equal(t, 3, len(x.answers), "a reload goes on where the test was")
	b.quiet(t)
}
