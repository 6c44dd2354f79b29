package workbench

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"mime"
	"net/http"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"time"

	"foldout/features"
	"foldout/plan/linecheck/portrait"
	"foldout/plan/report"
	"foldout/plan/rig"
	"foldout/plan/serve"
)

// Handler answers the page's requests; it is meant for serve.New.
func (b *Bench) Handler() http.Handler {
	mux := http.NewServeMux()
	mux.Handle("GET /", b.page)
	mux.HandleFunc("GET /report.css", func(w http.ResponseWriter, r *http.Request) {
		css, err := report.Styles()
		if err != nil {
			serve.WriteError(w, http.StatusInternalServerError, err)
			return
		}
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		http.ServeContent(w, r, "", time.Time{}, strings.NewReader(string(css)))
	})
	mux.HandleFunc("GET /linecheck.css", func(w http.ResponseWriter, r *http.Request) {
		css, err := portrait.Styles()
		if err != nil {
			serve.WriteError(w, http.StatusInternalServerError, err)
			return
		}
		w.Header().Set("Content-Type", "text/css; charset=utf-8")
		http.ServeContent(w, r, "", time.Time{}, strings.NewReader(string(css)))
	})
	mux.HandleFunc("GET /hatches.svg", func(w http.ResponseWriter, r *http.Request) {
		svg, err := report.Hatches()
		if err != nil {
			serve.WriteError(w, http.StatusInternalServerError, err)
			return
		}
		w.Header().Set("Content-Type", "text/plain; charset=utf-8")
		http.ServeContent(w, r, "", time.Time{}, strings.NewReader(svg))
	})
	mux.Handle("GET /events", &b.events)
	mux.HandleFunc("GET /state", func(w http.ResponseWriter, _ *http.Request) { serve.WriteJSON(w, b.state()) })
	mux.HandleFunc("GET /folders", b.folders)
	handle(mux, "POST /open", func(in struct {
		Path string `json:"path"`
	}) (any, error) {
		return nil, b.Open(in.Path)
	})
	handle(mux, "POST /demo", func(struct{}) (any, error) { return nil, b.OpenDemo() })
	handle(mux, "POST /cancel", func(struct{}) (any, error) { b.Cancel(); return nil, nil })
	on(b, mux, "POST /act", func(s *session, in Act) (any, error) { return answered(b, s.act(in)) })
	on(b, mux, "POST /travel", func(s *session, in struct {
		To int `json:"to"`
	}) (any, error) {
		return answered(b, s.travel(in.To))
	})
	on(b, mux, "POST /offer", func(s *session, in struct {
		Kind  string `json:"kind"`
		Pairs int    `json:"pairs"`
	}) (any, error) {
		return s.propose(in.Kind, in.Pairs)
	})
	on(b, mux, "POST /argue", func(s *session, in struct {
		File string `json:"file"`
	}) (any, error) {
		return s.argue(in.File)
	})
	on(b, mux, "POST /follow", func(s *session, in struct {
		File string `json:"file"`
	}) (any, error) {
		return s.follow(in.File)
	})
	on(b, mux, "POST /mix", func(s *session, in struct {
		Mixes [][]string `json:"mixes"`
	}) (any, error) {
		return s.mixes(in.Mixes)
	})
	on(b, mux, "POST /moments", func(s *session, in struct {
		Mix string `json:"mix"`
	}) (any, error) {
		sound, err := s.audible()
		if err != nil {
			return nil, err
		}
		return sound.moments(in.Mix)
	})
	on(b, mux, "POST /part", func(s *session, in struct {
		Name string `json:"name"`
	}) (any, error) {
		html, err := s.part(s.life, in.Name)
		return map[string]string{"html": html}, err
	})
	on(b, mux, "POST /rig", func(s *session, in struct {
		Rig *rig.Rig `json:"rig"`
	}) (any, error) {
		return tryRig(in.Rig), nil
	})
	on(b, mux, "POST /line/tones", func(s *session, in struct {
		LevelDB float64 `json:"level_db"`
		Quick   bool    `json:"quick"`
		Careful bool    `json:"careful"` // the cautions have been read
	}) (any, error) {
		return nil, s.makeTones(in.LevelDB, in.Quick, in.Careful)
	})
	on(b, mux, "POST /line/read", func(s *session, in struct {
		Set      string `json:"set"`
		Path     string `json:"path"`
		Baseline string `json:"baseline"`
	}) (any, error) {
		return nil, s.readReturn(in.Set, in.Path, in.Baseline)
	})
	on(b, mux, "POST /line/show", func(s *session, in struct {
		Name string `json:"name"`
	}) (any, error) {
		return nil, s.showReturn(in.Name)
	})
	on(b, mux, "POST /line/part", func(s *session, _ struct{}) (any, error) {
		html, err := s.linePart()
		return map[string]string{"html": html}, err
	})
	on(b, mux, "POST /print/compare", func(s *session, in struct {
		Mix   string `json:"mix"`
		Print string `json:"print"`
	}) (any, error) {
		return nil, s.compare(in.Mix, in.Print)
	})
	on(b, mux, "POST /print/excerpt", func(s *session, in struct {
		FromS float64 `json:"from_s"`
	}) (any, error) {
		return nil, s.excerpt(in.FromS)
	})
	on(b, mux, "POST /print/listen", func(s *session, in struct {
		Name string `json:"name"`
	}) (any, error) {
		return nil, s.listenTo(in.Name)
	})
	on(b, mux, "POST /halt", func(s *session, in struct {
		Name string `json:"name"`
	}) (any, error) {
		s.halt(in.Name)
		return nil, nil
	})
	mux.HandleFunc("GET /blind/", b.blindTest)
	mux.HandleFunc("POST /blind/", b.blindTest)
	on(b, mux, "POST /save", func(s *session, _ struct{}) (any, error) {
		path, err := s.save()
		return map[string]string{"path": path}, err
	})
	on(b, mux, "POST /stems", func(s *session, _ struct{}) (any, error) { return nil, s.writeStems() })
	on(b, mux, "POST /stems/cancel", func(s *session, _ struct{}) (any, error) { s.stopStems(); return nil, nil })
	on(b, mux, "POST /version", func(s *session, in struct {
		Name string `json:"name"`
	}) (any, error) {
		return answered(b, s.keepVersion(in.Name))
	})
	on(b, mux, "POST /compare", func(s *session, in other) (any, error) { return s.compareWith(in) })
	on(b, mux, "POST /return", func(s *session, in other) (any, error) { return answered(b, s.returnTo(in)) })
	on(b, mux, "POST /seen", func(s *session, _ struct{}) (any, error) { s.newsSeen(); return nil, nil })
	mux.HandleFunc("GET /sound/{mix}", b.sound)
	mux.HandleFunc("GET /overview/{mix}", b.overview)
	mux.HandleFunc("GET /take/{name}", b.take)
	return mux
}

// errNothingOpen answers what needs a session while there is none.
var errNothingOpen = errors.New("no session is open")

// answered gives the new state after something was done.
func answered(b *Bench, err error) (any, error) {
	if err != nil {
		return nil, err
	}
	return b.state(), nil
}

// handle answers a request of JSON with JSON. What a person cannot do is status 422, with the reason.
func handle[T any](mux *http.ServeMux, pattern string, do func(T) (any, error)) {
	mux.HandleFunc(pattern, func(w http.ResponseWriter, r *http.Request) {
		var in T
		if serve.ReadJSON(w, r, &in) != nil {
			return
		}
		out, err := do(in)
		if err != nil {
			serve.WriteError(w, http.StatusUnprocessableEntity, err)
			return
		}
		serve.WriteJSON(w, out)
	})
}

// on is handle for what needs an open session.
func on[T any](b *Bench, mux *http.ServeMux, pattern string, do func(*session, T) (any, error)) {
	handle(mux, pattern, func(in T) (any, error) {
		s := b.current()
		if s == nil {
			return nil, errNothingOpen
		}
		return do(s, in)
	})
}

// audible is the sound of the session, or why there is none.
func (s *session) audible() (*sound, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.sound == nil {
		return nil, errors.New(s.mute)
	}
	return s.sound, nil
}

// mostMixes is the most mixes asked for at a time.
const mostMixes = 256

func (s *session) mixes(lists [][]string) (any, error) {
	defer s.floor.take(true)()
	sound, err := s.audible()
	if err != nil {
		return nil, err
	}
	if len(lists) > mostMixes {
		return nil, fmt.Errorf("%d mixes at a time are too many", len(lists))
	}
	ids := make([]string, len(lists))
	for i, files := range lists {
		if len(files) == 0 {
			continue // silence has no stream
		}
		if ids[i], err = sound.mix(files); err != nil {
			return nil, err
		}
	}
	return map[string]any{"ids": ids, "rate_hz": sound.session.RateHz, "frames": sound.session.Frames}, nil
}

func (b *Bench) sound(w http.ResponseWriter, r *http.Request) {
	s := b.current()
	if s == nil {
		serve.WriteError(w, http.StatusNotFound, errNothingOpen)
		return
	}
	sound, err := s.audible()
	if err == nil {
		defer s.floor.take(short(r, sound.session.RateHz))()
		err = sound.serveSound(w, r, r.PathValue("mix"))
	}
	if err != nil {
		serve.WriteError(w, http.StatusNotFound, err)
	}
}

// short tells whether a request is for half a second of sound at most, as it is where a person begins to listen.
func short(r *http.Request, rateHz int) bool {
	var from, to int64
	n, err := fmt.Sscanf(r.Header.Get("Range"), "bytes=%d-%d", &from, &to)
	return err == nil && n == 2 && to-from < int64(rateHz)/2*frameBytes
}

func (b *Bench) overview(w http.ResponseWriter, r *http.Request) {
	s := b.current()
	if s == nil {
		serve.WriteError(w, http.StatusNotFound, errNothingOpen)
		return
	}
	var n [3]int64
	for i, key := range []string{"from", "to", "parts"} {
		v, err := strconv.ParseInt(r.URL.Query().Get(key), 10, 64)
		if err != nil {
			serve.WriteError(w, http.StatusBadRequest, fmt.Errorf("%s has to be a number", key))
			return
		}
		n[i] = v
	}
	sound, err := s.audible()
	var shape []int8
	if err == nil {
		shape, err = sound.overview(r.Context(), &s.floor, r.PathValue("mix"), n[0], n[1], int(min(n[2], 1<<20)))
	}
	if err != nil {
		serve.WriteError(w, http.StatusNotFound, err)
		return
	}
	data := make([]byte, len(shape))
	for i, v := range shape {
		data[i] = byte(v)
	}
	w.Header().Set("Content-Type", "application/octet-stream")
	w.Write(data) //nolint:errcheck // whoever asked has gone
}

// take gives a document to keep.
func (b *Bench) take(w http.ResponseWriter, r *http.Request) {
	s := b.current()
	if s == nil {
		serve.WriteError(w, http.StatusNotFound, errNothingOpen)
		return
	}
	file, d, data, err := s.export(r.PathValue("name"))
	if err != nil {
		serve.WriteError(w, http.StatusUnprocessableEntity, err)
		return
	}
	w.Header().Set("Content-Type", d.kind)
	if r.URL.Query().Get("show") == "" {
		w.Header().Set("Content-Disposition", mime.FormatMediaType("attachment", map[string]string{"filename": file}))
	} else { // the printed page carries its own style and no script
		w.Header().Set("Content-Security-Policy", "default-src 'none'; style-src 'unsafe-inline'; img-src data:; frame-ancestors 'none'")
	}
	http.ServeContent(w, r, "", time.Time{}, bytes.NewReader(data))
}

// listing is a folder to choose from.
type listing struct {
	Path    string   `json:"path"`
	Parent  string   `json:"parent"` // "" at the top
	Tracks  int      `json:"tracks"` // audio files in it
	Sheets  []string `json:"sheets"`
	Folders []subdir `json:"folders"`
	Files   []chosen `json:"files"` // the newest first; only where they were asked for
}

// chosen is a file to choose.
type chosen struct {
	Name  string    `json:"name"`
	Path  string    `json:"path"`
	Time  time.Time `json:"time"`
	Bytes int64     `json:"bytes"`
}

type subdir struct {
	Name   string `json:"name"`
	Path   string `json:"path"`
	Tracks int    `json:"tracks"`
}

// mostCounted bounds how many folders are looked into for a listing.
const mostCounted = 300

// folders lists a folder of the computer for the person to choose from: names, and of JSON the first words, to tell sheets.
// With files=audio it names the audio files, with files=sheets the sheets and tables.
func (b *Bench) folders(w http.ResponseWriter, r *http.Request) {
	at, files := r.URL.Query().Get("at"), r.URL.Query().Get("files")
	if s := b.current(); at == "" && files != "" && s != nil {
		at = filepath.Dir(s.folder)
	}
	if at == "" {
		home, err := os.UserHomeDir()
		if err != nil {
			home = string(filepath.Separator)
		}
		at = home
	}
	at = filepath.Clean(at)
	entries, err := os.ReadDir(at)
	if err != nil {
		serve.WriteError(w, http.StatusUnprocessableEntity, fmt.Errorf("%s cannot be listed: %w", at, errors.Unwrap(err)))
		return
	}
	l := listing{Path: at, Folders: []subdir{}, Sheets: []string{}, Files: []chosen{}}
	offer := func(e os.DirEntry) {
		if info, err := e.Info(); err == nil {
			l.Files = append(l.Files, chosen{e.Name(), filepath.Join(at, e.Name()), info.ModTime(), info.Size()})
		}
	}
	if up := filepath.Dir(at); up != at {
		l.Parent = up
	}
	for _, e := range entries {
		name := e.Name()
		switch {
		case strings.HasPrefix(name, "."):
		case e.IsDir():
			d := subdir{Name: name, Path: filepath.Join(at, name)}
			if len(l.Folders) < mostCounted {
				d.Tracks = count(d.Path)
			}
			l.Folders = append(l.Folders, d)
		case looksLikeSheet(filepath.Join(at, name)):
			l.Sheets = append(l.Sheets, filepath.Join(at, name))
			if files == "sheets" {
				offer(e)
			}
		case files == "sheets" && isTable(name):
			offer(e)
		case isAudio(name):
			l.Tracks++
			if files == "audio" {
				offer(e)
			}
		}
	}
	slices.SortStableFunc(l.Files, func(a, b chosen) int { return b.Time.Compare(a.Time) })
	slices.SortFunc(l.Folders, func(a, b subdir) int { return features.NaturalCompare(a.Name, b.Name) })
	serve.WriteJSON(w, l)
}

// isAudio tells by its name whether a file may be a track.
func isAudio(name string) bool {
	return features.NamedAsAudio(name) && !strings.HasPrefix(name, ".")
}

// isTable tells by its name whether a file may be a grouping made by hand.
func isTable(name string) bool {
	return slices.Contains([]string{".csv", ".tsv"}, strings.ToLower(filepath.Ext(name)))
}

// looksLikeSheet tells by its first words whether a file is a saved sheet.
func looksLikeSheet(path string) bool {
	if strings.ToLower(filepath.Ext(path)) != ".json" {
		return false
	}
	if info, err := os.Stat(path); err != nil || !info.Mode().IsRegular() {
		return false
	}
	f, err := os.Open(path)
	if err != nil {
		return false
	}
	defer f.Close()
	head, err := io.ReadAll(io.LimitReader(f, 2048))
	return err == nil && sheetStart.Match(head) && bytes.Contains(head, []byte(`"settings"`))
}

var sheetStart = regexp.MustCompile(`^(\xEF\xBB\xBF)?\s*\{\s*"schema"\s*:`)

// count counts the audio files of a folder.
func count(dir string) (n int) {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return 0
	}
	for _, e := range entries {
		if !e.IsDir() && isAudio(e.Name()) {
			n++
		}
	}
	return n
}

// rigTrial says what a rig comes to.
type rigTrial struct {
	Faults []string   `json:"faults"`
	Notes  []string   `json:"notes"`
	Pairs  []rig.Pair `json:"pairs"`
}

func tryRig(r *rig.Rig) rigTrial {
	t := rigTrial{Faults: []string{}, Notes: []string{}, Pairs: []rig.Pair{}}
	if r == nil {
		return t
	}
	pairs, notes, err := r.Pairs()
	t.Pairs, t.Notes = append(t.Pairs, pairs...), append(t.Notes, notes...)
	var faults rig.Faults
	if errors.As(err, &faults) {
		t.Faults = append(t.Faults, faults...)
	} else if err != nil {
		t.Faults = append(t.Faults, err.Error())
	}
	return t
}
