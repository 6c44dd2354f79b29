// Command otherbrowsers walks the workbench once in a browser that the tests do not drive, through a driver that speaks WebDriver (W3C):
// WebKitWebDriver, safaridriver, geckodriver. It is started by hand; see DEVELOPERS.md.
//
//	foldout open SESSION --no-browser                 prints an address
//	WebKitWebDriver --port=4444                       or another driver
//	go run ./testdata/otherbrowsers --page ADDRESS [--browser '{"webkitgtk:browserOptions":{"binary":"MiniBrowser","args":["--automation"]}}'] [--pictures DIR]
//
// It drags a track by mouse and moves one by keys, undoes and does again, plays, seeks, switches, goes through the soft channel, opens every leaf and
// loads the page anew; each line says what was done and how long the browser took. It ends with 1 at the first thing that does not happen.
package main

import (
	"bytes"
	"encoding/base64"
	"encoding/json"
	"fmt"
	"net/http"
	"os"
	"path/filepath"
	"time"

	"github.com/spf13/pflag"
)

const patience = 30 * time.Second

type walk struct {
	session  string // its address at the driver
	pictures string
	begun    time.Time
}

func main() {
	driver := pflag.String("driver", "http://127.0.0.1:4444", "address of the driver")
	page := pflag.String("page", "", "address of the workbench, as foldout open --no-browser prints it")
	browser := pflag.String("browser", "{}", "capabilities that the driver needs, JSON")
	pictures := pflag.String("pictures", "", "folder for a picture of every leaf")
	pflag.Parse()
	if err := run(*driver, *page, *browser, *pictures); err != nil {
		fmt.Fprintln(os.Stderr, err)
		os.Exit(1)
	}
}

func run(driver, page, browser, pictures string) (err error) {
	var s struct {
		SessionID    string
		Capabilities struct{ BrowserName, BrowserVersion string }
	}
	if err := call("POST", driver+"/session", map[string]any{"capabilities": map[string]any{"alwaysMatch": json.RawMessage(browser)}}, &s); err != nil {
		return err
	}
	w := &walk{session: driver + "/session/" + s.SessionID, pictures: pictures, begun: time.Now()}
	defer func() { err = first(err, call("DELETE", w.session, nil, nil)) }()
	fmt.Println(s.Capabilities.BrowserName, s.Capabilities.BrowserVersion)
	if err := call("POST", w.session+"/window/rect", map[string]int{"width": 1280, "height": 1000}, nil); err != nil {
		return err
	}
	if err := call("POST", w.session+"/url", map[string]string{"url": page}, nil); err != nil {
		return err
	}
	for _, step := range steps {
		from := time.Now()
		if step.do != nil {
			if err := step.do(w); err != nil {
				return fmt.Errorf("%s: %w", step.what, err)
			}
		}
		if err := w.until(step.until); err != nil {
			return fmt.Errorf("%s: %w", step.what, err)
		}
		fmt.Printf("%6.0f ms  %s\n", float64(time.Since(from).Microseconds())/1000, step.what)
	}
	return w.leaves()
}

// step is something a person does, and what must then become true in the page. f is the page's own handle on itself, at the server's
// state of the session.
type step struct {
	what  string
	do    func(*walk) error
	until string
}

const at = `(f.store.state.session.at)`

var steps = []step{
	{"the tracks are there", nil, `document.querySelectorAll(".slipcard").length>1 && f.store.state.session.misfits>=0`},
	{"what complains is kept", script(`window.complaints=[];addEventListener("error",e=>complaints.push(e.message));addEventListener("unhandledrejection",e=>complaints.push(String(e.reason)));window.one=document.querySelector(".slipcard").dataset.file;window.from=` + at), `true`},
	{"a slip is dragged to the second pair", func(w *walk) error { return w.drag(`.slipcard`, `.pair[data-pair="2"] .slipgroups`) }, at + `>from && pairOf(one)===2`},
	{"undone by keys", keys("\uE009", "z"), `pairOf(one)===1`},
	{"moved by a key", func(w *walk) error {
		return first(script(`document.querySelector('.slipcard[data-file="'+CSS.escape(one)+'"]').focus()`)(w), keys("2")(w))
	}, `pairOf(one)===2`},
	{"undone by the button", click("#undo"), `pairOf(one)===1`},
	{"done again", click(".steps button:nth-child(2)"), `pairOf(one)===2`},
	{"undone", click("#undo"), `pairOf(one)===1`},
	{"a slip is chosen, and its reasons come", click(".slipcard"), `document.querySelector(".nearness")`},
	{"it plays", click("#play"), `f.player.engine.playing && f.player.engine.position>f.player.engine.rate/2`},
	{"the meter reads", nil, `f.player.hold>-60 && /VU/.test(document.querySelector("#reading").textContent)`},
	{"a pair is heard", click(`.chip[data-to="p1"]`), `f.player.target.pair===1 && f.player.engine.playing`},
	{"sought", script(`f.player.seek(5)`), `f.player.engine.position>5.3*f.player.engine.rate`},
	{"through the soft channel", click("#unit"), `f.player.through==="through" && f.player.engine.wet.gain.value>.5`},
	{"clean", click("#unit"), `f.player.through==="clean"`},
	{"mono", click(".switches button:nth-child(5)"), `f.player.isMono`},
	{"stopped", click("#play"), `!f.player.engine.playing`},
	{"one pair more is shown", click(".tools .row button:nth-child(2)"), `document.querySelector("#take-offer")`},
	{"it is left", click("#take-offer + button"), `!document.querySelector("#take-offer")`},
}

// leaves opens every leaf and loads the page anew.
func (w *walk) leaves() error {
	var names []string
	if err := w.tell(`[...document.querySelectorAll(".leaf")].map(b=>b.dataset.leaf)`, &names); err != nil {
		return err
	}
	for _, leaf := range names {
		if err := click(`.leaf[data-leaf="` + leaf + `"]`)(w); err != nil {
			return err
		}
		if err := w.until(`document.body.dataset.leaf==="` + leaf + `" && !document.querySelector(".drawn:empty") && document.querySelector("#leaf").innerText.length>40`); err != nil {
			return fmt.Errorf("leaf %s: %w", leaf, err)
		}
		var wide []int
		if err := w.tell(`[document.documentElement.scrollWidth,innerWidth]`, &wide); err != nil {
			return err
		}
		if wide[0] > wide[1] {
			return fmt.Errorf("leaf %s is %d px wide in a window of %d", leaf, wide[0], wide[1])
		}
		if w.pictures != "" {
			var png string
			if err := call("GET", w.session+"/screenshot", nil, &png); err != nil {
				return err
			}
			data, err := base64.StdEncoding.DecodeString(png)
			if err := first(err, os.MkdirAll(w.pictures, 0o777)); err != nil {
				return err
			}
			if err := os.WriteFile(filepath.Join(w.pictures, leaf+".png"), data, 0o666); err != nil {
				return err
			}
		}
		fmt.Println("           leaf", leaf)
	}
	var complaints []string
	if err := w.tell(`window.complaints`, &complaints); err != nil {
		return err
	}
	if len(complaints) > 0 {
		return fmt.Errorf("the page complains: %q", complaints)
	}
	var steps int
	if err := first(w.tell(`f.store.state.session.history.length`, &steps), call("POST", w.session+"/refresh", struct{}{}, nil)); err != nil {
		return err
	}
	if err := w.until(fmt.Sprintf(`f.store.state.session.history.length===%d`, steps)); err != nil {
		return fmt.Errorf("loaded anew: %w", err)
	}
	fmt.Printf("%6.0f s   all, loaded anew with its history\n", time.Since(w.begun).Seconds())
	return nil
}

func script(text string) func(*walk) error {
	return func(w *walk) error { return w.tell(`(()=>{`+text+`;return true})()`, nil) }
}

func click(selector string) func(*walk) error {
	return func(w *walk) error {
		x, y, err := w.place(selector)
		if err != nil {
			return err
		}
		return w.mouse(move(x, y), press, release)
	}
}

func (w *walk) drag(from, to string) error {
	toX, toY, err := w.place(to)
	if err != nil {
		return err
	}
	x, y, err := w.place(from)
	if err != nil {
		return err
	}
	doing := []map[string]any{move(x, y), press}
	for k := 1; k <= 10; k++ {
		doing = append(doing, move(x+(toX-x)*k/10, y+(toY-y)*k/10), map[string]any{"type": "pause", "duration": 30})
	}
	return w.mouse(append(doing, release)...)
}

func move(x, y int) map[string]any {
	return map[string]any{"type": "pointerMove", "duration": 0, "x": x, "y": y}
}

var press, release = map[string]any{"type": "pointerDown", "button": 0}, map[string]any{"type": "pointerUp", "button": 0}

func (w *walk) mouse(doing ...map[string]any) error {
	return w.act(map[string]any{"type": "pointer", "id": "mouse", "parameters": map[string]string{"pointerType": "mouse"}, "actions": doing})
}

// keys presses keys together, the first longest. Codes from \uE000 are those of WebDriver.
func keys(list ...string) func(*walk) error {
	return func(w *walk) error {
		var doing []map[string]any
		for _, k := range list {
			doing = append(doing, map[string]any{"type": "keyDown", "value": k})
		}
		for i := range list {
			doing = append(doing, map[string]any{"type": "keyUp", "value": list[len(list)-1-i]})
		}
		return w.act(map[string]any{"type": "key", "id": "keys", "actions": doing})
	}
}

func (w *walk) act(source map[string]any) error {
	return call("POST", w.session+"/actions", map[string]any{"actions": []any{source}}, nil)
}

// place is the middle of an element once it is in the view.
func (w *walk) place(selector string) (x, y int, err error) {
	var at []float64
	if err = w.tell(fmt.Sprintf(`(()=>{const e=document.querySelector(%q);if(!e)return [];e.scrollIntoView({block:"nearest"});const b=e.getBoundingClientRect();return [b.x+b.width/2,b.y+Math.min(b.height/2,24)]})()`, selector), &at); err != nil {
		return 0, 0, err
	}
	if len(at) < 2 {
		return 0, 0, fmt.Errorf("there is no %s", selector)
	}
	return int(at[0]), int(at[1]), nil
}

// tell evaluates an expression in the page.
func (w *walk) tell(expression string, answer any) error {
	return call("POST", w.session+"/execute/sync", map[string]any{"args": []any{}, "script": `const f=window.foldout,pairOf=(file)=>+document.querySelector('.slipcard[data-file="'+CSS.escape(file)+'"]')?.closest(".pair")?.dataset.pair;return ` + expression}, answer)
}

func (w *walk) until(expression string) error {
	end := time.Now().Add(patience)
	for {
		var holds bool
		err := w.tell(`!!window.foldout?.store?.state?.session && !!(`+expression+`)`, &holds)
		if err == nil && holds {
			return nil
		}
		if time.Now().After(end) {
			return first(err, fmt.Errorf("never %s", expression))
		}
		time.Sleep(30 * time.Millisecond)
	}
}

// call asks the driver.
func call(method, address string, body, answer any) error {
	data := []byte(nil)
	if body != nil {
		var err error
		if data, err = json.Marshal(body); err != nil {
			return err
		}
	}
	req, err := http.NewRequest(method, address, bytes.NewReader(data))
	if err != nil {
		return err
	}
	res, err := http.DefaultClient.Do(req)
	if err != nil {
		return err
	}
	defer res.Body.Close()
	var out struct{ Value json.RawMessage }
	if err := json.NewDecoder(res.Body).Decode(&out); err != nil {
		return err
	}
	if res.StatusCode != http.StatusOK {
		return fmt.Errorf("the driver says: %s", out.Value)
	}
	if answer == nil {
		return nil
	}
	return json.Unmarshal(out.Value, answer)
}

// first is the first error there is.
func first(errs ...error) error {
	for _, err := range errs {
		if err != nil {
			return err
		}
	}
	return nil
}
