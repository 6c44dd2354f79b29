// Package workbench is the page on which a fold is seen, heard and changed by hand, and the server behind it.
//
// In goes a folder of tracks or a saved sheet; out comes an http.Handler for package serve. The page holds no rule of
// grouping and no measurement: it sends what a person does (an Act) and draws what comes back (a State). Folding and
// judging are done by plan/fold, sums by plan/stems, levels by plan/levels, drawings by plan/report and plan/patch.
//
// # What is kept
//
// All that a person decides is a Choice: which track is on which pair, names, locks, the rig. Every act makes a new one;
// the list of them is the history, kept in a file beside the folder, to which every act appends (journal.go), so that neither
// a closed page nor a killed program loses anything. Tracks are only ever read.
//
// # Sound
//
// The server sums any set of tracks into one stereo stream of 32-bit floats (sum), served in byte ranges; the page plays
// several such streams in step and fades between them. So a hundred tracks cost the browser no more than one.
package workbench

import (
	"context"
	"embed"
	"errors"
	"fmt"
	"io/fs"
	"net/http"
	"os"
	"path/filepath"
	"sync"
	"time"

	"foldout/features"
	"foldout/plan/rig"
	"foldout/plan/serve"
	"foldout/plan/sheet"
)

//go:embed page
var pageFiles embed.FS

// Options say how a workbench works.
type Options struct {
	Pairs   int    // of the first fold; 0 for 4, or as many as the rig has
	Seed    uint64 // of the search
	Rig     *rig.Rig
	Habits  *sheet.Habits   // of the engineer, for sheets that were made with none; nil for those of the trade
	Version string          // of the program, for the record
	Cache   *features.Cache // of measurements; nil for none
	Workers int             // files measured at a time; 0 for one per core
	Again   string          // the command that starts the program again, for the page to show; "" for none
	Recent  string          // file that remembers recent sessions; "" for none

	// Demo writes an example session below a folder of its choice and returns it; nil where there is none.
	Demo func(ctx context.Context, progress func(done, total int)) (folder string, err error)
}

// Bench is the state behind the page. Make it with New.
type Bench struct {
	opt    Options
	events serve.Events
	page   http.Handler
	life   context.Context // of all that runs in the background
	end    context.CancelFunc

	mu      sync.Mutex // guards what follows
	session *session   // nil on the first page
	opening *opening   // nil when nothing is being opened
	trouble string     // why the last opening failed
}

// New makes a workbench without a session. Close it when done.
func New(opt Options) (*Bench, error) {
	if opt.Seed == 0 {
		opt.Seed = 1
	}
	files, err := fs.Sub(pageFiles, "page")
	if err != nil {
		return nil, err
	}
	b := &Bench{opt: opt, page: serve.Assets(files)}
	b.life, b.end = context.WithCancel(context.Background())
	return b, nil
}

// Close ends all work in the background and releases all files.
func (b *Bench) Close() {
	b.end()
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.session != nil {
		b.session.close()
	}
}

// opening is a session on its way.
type opening struct {
	Target string    `json:"target"`
	Stage  string    `json:"stage"` // performing, measuring, relating, folding
	Done   int64     `json:"done"`
	Total  int64     `json:"total"`
	Tracks []arrival `json:"tracks"` // measured so far
	cancel context.CancelFunc
	sent   time.Time
}

// arrival is a track that has just been measured.
type arrival struct {
	File  string `json:"file"`
	Name  string `json:"name"`
	Ridge string `json:"ridge"`
	Shape string `json:"shape"`
	Fault string `json:"fault,omitempty"`
}

// Open begins to open a folder or a saved sheet and returns at once; what becomes of it is seen in the state. The error
// says that there is no such folder or file, that the file is no sheet, or that the folder of its tracks has gone. What was
// open stays open until the new session is ready.
func (b *Bench) Open(target string) error {
	abs, err := filepath.Abs(target)
	if err != nil {
		return err
	}
	info, err := os.Stat(abs)
	if err != nil {
		return fmt.Errorf("%s: no such folder or sheet", target)
	}
	if !info.IsDir() && !info.Mode().IsRegular() {
		return fmt.Errorf("%s: neither a folder nor a sheet", target)
	}
	var given *sheet.Sheet
	if !info.IsDir() {
		if given, err = openSheet(target); err != nil {
			return err
		}
	}
	b.begin(abs, "measuring", func(ctx context.Context, o *opening) (*session, error) {
		return b.load(ctx, o, abs, given)
	})
	return nil
}

// openSheet reads a saved sheet whose tracks are there. A track and a table made by hand, which people have in the same
// places, are told what to do with them.
func openSheet(path string) (*sheet.Sheet, error) {
	if isAudio(path) {
		return nil, fmt.Errorf("%s is a track; open the folder that holds all of them: %s", path, filepath.Dir(path))
	}
	doc, err := sheet.Load(path)
	if err != nil {
		if m, asTable := sheet.LoadManual(path); asTable == nil && len(m.Rows) > 0 {
			return nil, fmt.Errorf("%s is a table, not a sheet; open the folder of its tracks and compare the table there (Versions), or make it a sheet: foldout adopt FOLDER --sheet %s --out FILE", path, path)
		}
		return nil, err
	}
	if st, err := os.Stat(doc.Folder); err != nil || !st.IsDir() {
		return nil, fmt.Errorf("%s: its tracks were in %s, which is not there any more; open the folder they are in now", path, doc.Folder)
	}
	return doc, nil
}

// OpenDemo begins to make the example session and to open it.
func (b *Bench) OpenDemo() error {
	if b.opt.Demo == nil {
		return errors.New("there is no demo here")
	}
	b.begin("the demo", "performing", func(ctx context.Context, o *opening) (*session, error) {
		folder, err := b.opt.Demo(ctx, func(done, total int) { b.progress(o, "performing", int64(done), int64(total)) })
		if err != nil {
			return nil, err
		}
		return b.load(ctx, o, folder, nil)
	})
	return nil
}

// begin runs an opening in the background; one that is under way gives up.
func (b *Bench) begin(target, stage string, load func(context.Context, *opening) (*session, error)) {
	ctx, cancel := context.WithCancel(b.life)
	o := &opening{Target: target, Stage: stage, Tracks: []arrival{}, cancel: cancel}
	b.mu.Lock()
	if b.opening != nil {
		b.opening.cancel()
	}
	b.opening, b.trouble = o, ""
	b.mu.Unlock()
	b.events.Send("opening", o)
	go func() {
		defer cancel()
		s, err := load(ctx, o)
		b.mu.Lock()
		if b.opening != o { // another has been begun since
			b.mu.Unlock()
			if s != nil {
				s.close()
			}
			return
		}
		b.opening = nil
		switch {
		case errors.Is(err, context.Canceled):
		case err != nil:
			b.trouble = err.Error()
		default:
			if b.session != nil {
				b.session.close()
			}
			b.session = s
		}
		b.mu.Unlock()
		if err == nil {
			b.remember(s)
			s.begin()
		}
		b.events.Send("opened", struct{}{})
	}()
}

// Cancel gives up an opening that is under way.
func (b *Bench) Cancel() {
	b.mu.Lock()
	defer b.mu.Unlock()
	if b.opening != nil {
		b.opening.cancel()
	}
}

// progress tells the pages how far an opening has come, ten times a second at most.
func (b *Bench) progress(o *opening, stage string, done, total int64) {
	b.mu.Lock()
	changed := o.Stage != stage
	o.Stage, o.Done, o.Total = stage, done, total
	due := changed || time.Since(o.sent) > 100*time.Millisecond
	if due {
		o.sent = time.Now()
	}
	short := struct {
		Stage string `json:"stage"`
		Done  int64  `json:"done"`
		Total int64  `json:"total"`
	}{stage, done, total}
	b.mu.Unlock()
	if due {
		b.events.Send("progress", short)
	}
}

// arrived tells the pages that a track has been measured.
func (b *Bench) arrived(o *opening, a arrival) {
	b.mu.Lock()
	o.Tracks = append(o.Tracks, a)
	b.mu.Unlock()
	b.events.Send("track", a)
}

// current is the open session, nil without one.
func (b *Bench) current() *session {
	b.mu.Lock()
	defer b.mu.Unlock()
	return b.session
}
