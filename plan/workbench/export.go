package workbench

import (
	"bytes"
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strconv"
	"time"

	"foldout/features/csvsafe"
	"foldout/plan/fold"
	"foldout/plan/levels"
	"foldout/plan/patch"
	"foldout/plan/report"
	"foldout/plan/rig"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// document is a file that can be taken away.
type document struct {
	ext, kind string
	write     func(s *session, doc *sheet.Sheet, r *rig.Rig, loads *levels.Levels) ([]byte, error)
}

// documents by their name in an address.
var documents = map[string]document{
	"sheet.json": {".sheet.json", "application/json", func(_ *session, doc *sheet.Sheet, _ *rig.Rig, _ *levels.Levels) ([]byte, error) {
		return sheetJSON(doc)
	}},
	"sheet.csv": {".csv", "text/csv; charset=utf-8", func(_ *session, doc *sheet.Sheet, _ *rig.Rig, _ *levels.Levels) ([]byte, error) {
		return sheetCSV(doc)
	}},
	"report.html": {".html", "text/html; charset=utf-8", func(_ *session, doc *sheet.Sheet, r *rig.Rig, loads *levels.Levels) ([]byte, error) {
		p, err := patch.Make(doc, r)
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		err = report.Page{Sheet: doc, Levels: loads, Patch: p}.Write(&b)
		return b.Bytes(), err
	}},
	"patch.svg": {"-patch.svg", "image/svg+xml", func(_ *session, doc *sheet.Sheet, r *rig.Rig, _ *levels.Levels) ([]byte, error) {
		p, err := patch.Make(doc, r)
		if err != nil {
			return nil, err
		}
		return []byte(p.SVG()), nil
	}},
	"labels.csv": {"-labels.csv", "text/csv; charset=utf-8", func(_ *session, doc *sheet.Sheet, r *rig.Rig, _ *levels.Levels) ([]byte, error) {
		p, err := patch.Make(doc, r)
		if err != nil {
			return nil, err
		}
		var b bytes.Buffer
		err = p.WriteCSV(&b)
		return b.Bytes(), err
	}},
	"rig.toml": {"-rig.toml", "application/toml", func(_ *session, doc *sheet.Sheet, r *rig.Rig, _ *levels.Levels) ([]byte, error) {
		if r == nil {
			r = rig.Plain(len(doc.Pairs))
		}
		var b bytes.Buffer
		err := rig.Write(&b, r)
		return b.Bytes(), err
	}},
}

// export writes a document of the present sheet.
func (s *session) export(name string) (file string, d document, data []byte, err error) {
	d, ok := documents[name]
	if !ok {
		return "", d, nil, fmt.Errorf("there is no document %q", name)
	}
	doc, r, loads, err := s.whole()
	if err != nil {
		return "", d, nil, err
	}
	data, err = d.write(s, doc, r, loads)
	return s.base() + d.ext, d, data, err
}

// whole is the present sheet with every place judged, its rig, and what its pairs send, as far as that is known.
func (s *session) whole() (*sheet.Sheet, *rig.Rig, *levels.Levels, error) {
	s.judge()
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.choice()
	doc, err := s.write(c)
	if err != nil {
		return nil, nil, nil, err
	}
	for n := range doc.Pairs {
		for k := range doc.Pairs[n].Tracks {
			if t := &doc.Pairs[n].Tracks[k]; t.Confidence < 0 {
				t.Confidence = 0 // judged meanwhile by nobody: say nothing firm
			}
		}
	}
	var loads *levels.Levels
	if s.loadsAt == loadKey(c) {
		loads = s.loads
	}
	return doc, c.Rig, loads, nil
}

// save writes the sheet beside the folder and says where.
func (s *session) save() (string, error) {
	file, _, data, err := s.export("sheet.json")
	if err != nil {
		return "", err
	}
	s.mu.Lock()
	dir := filepath.Dir(s.keep.path)
	s.mu.Unlock()
	return fresh(dir, file[:len(file)-len(".sheet.json")], ".sheet.json", data)
}

func sheetJSON(doc *sheet.Sheet) ([]byte, error) {
	var b bytes.Buffer
	e := json.NewEncoder(&b)
	e.SetIndent("", "  ")
	e.SetEscapeHTML(false)
	err := e.Encode(doc)
	return b.Bytes(), err
}

// sheetCSV writes the columns that check reads again.
func sheetCSV(doc *sheet.Sheet) ([]byte, error) {
	var b bytes.Buffer
	rows := [][]string{{"track", "pair", "bus", "pair_name", "output_left", "output_right", "role", "runner_up"}}
	for n, p := range doc.Pairs {
		for _, t := range p.Tracks {
			rows = append(rows, []string{t.File, strconv.Itoa(n + 1), t.Bus, p.Name, strconv.Itoa(p.Outputs[0]), strconv.Itoa(p.Outputs[1]), t.Role, t.RunnerUp})
		}
	}
	err := csvsafe.Write(&b, rows)
	return b.Bytes(), err
}

// stemsJob is the writing of stems.
type stemsJob struct {
	dir         string
	done, total int64
	over        bool
	fault       string
	files       int
	cancel      context.CancelFunc
}

type stemsView struct {
	Dir   string `json:"dir"`
	Done  int64  `json:"done"`
	Total int64  `json:"total"`
	Over  bool   `json:"over"`
	Fault string `json:"fault"`
	Files int    `json:"files"`
}

func (j *stemsJob) view() *stemsView {
	return &stemsView{j.dir, j.done, j.total, j.over, j.fault, j.files}
}

// writeStems begins to write one file per pair into a new folder beside the session.
func (s *session) writeStems() error {
	doc, r, _, err := s.whole()
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.stems != nil && !s.stems.over {
		return errors.New("stems are being written already")
	}
	opt := stems.Options{Folder: s.folder}
	if r != nil {
		opt.PanGain = r.PanGain()
	}
	open, err := stems.Open(doc, opt)
	if err != nil {
		return err
	}
	base := filepath.Join(filepath.Dir(s.keep.path), s.base()+" stems")
	dir := base
	for n := 2; ; n++ {
		if _, err := os.Stat(dir); errors.Is(err, os.ErrNotExist) {
			break
		}
		dir = fmt.Sprintf("%s %d", base, n)
	}
	ctx, cancel := context.WithCancel(s.life)
	job := &stemsJob{dir: dir, total: 1, cancel: cancel}
	s.stems = job
	s.touch()
	go func() {
		defer cancel()
		var told time.Time
		written, err := open.Write(ctx, stems.WriteOptions{Dir: dir, Float: true, Progress: func(done, total int64) {
			s.mu.Lock()
			job.done, job.total = done, total
			s.mu.Unlock()
			if time.Since(told) > 100*time.Millisecond {
				told = time.Now()
				s.b.events.Send("stems", job.view())
			}
		}})
		s.mu.Lock()
		job.over = true
		switch {
		case errors.Is(err, context.Canceled):
			job.fault = "stopped; nothing was left half-written"
		case err != nil:
			job.fault = err.Error()
		default:
			job.files, job.done = len(written.Stems), job.total
		}
		s.touch()
		s.mu.Unlock()
	}()
	return nil
}

// part draws one part of the report page for the present sheet.
func (s *session) part(ctx context.Context, name string) (string, error) {
	if name == report.PartSweep {
		return s.sweepPart()
	}
	doc, r, loads, err := s.whole()
	if err != nil {
		return "", err
	}
	page := report.Page{Sheet: doc, Levels: loads}
	if name == report.PartPatch {
		if page.Patch, err = patch.Make(doc, r); err != nil {
			return "", err
		}
	}
	if name == report.PartLevels && loads == nil {
		if page.Levels, err = levels.Measure(ctx, doc, r, levels.Options{Folder: s.folder}); err != nil {
			return "", err
		}
	}
	return page.Part(name)
}

// sweepPart draws what more pairs would buy, up to twice as many as there are and to eight at least.
func (s *session) sweepPart() (string, error) {
	s.mu.Lock()
	c, known := s.choice(), s.sweep
	p, err := s.prepare(c, fold.Options{Pairs: len(c.Pairs)})
	s.mu.Unlock()
	if err != nil {
		return "", err
	}
	if known == nil {
		most := min(max(8, 2*len(c.Pairs)), len(p.Live), 16)
		if known, err = p.Sweep(min(2, most), most); err != nil {
			return "", err
		}
		s.mu.Lock()
		s.sweep = known
		s.mu.Unlock()
	}
	return report.Page{Sweep: known}.Part(report.PartSweep)
}

// hops follows a track through the patch, from file to print, one sentence a hop.
type hops struct {
	Pair  int      `json:"pair"`
	Steps []string `json:"steps"`
}

func (s *session) follow(file string) (*hops, error) {
	s.mu.Lock()
	doc, c := s.doc, s.choice()
	s.mu.Unlock()
	n := c.where(file)
	if n < 0 {
		return nil, fmt.Errorf("%s is on no pair", c.name(file))
	}
	p, err := patch.Make(doc, c.Rig)
	if err != nil {
		return nil, err
	}
	for _, l := range p.Lanes {
		if l.Number != n+1 {
			continue
		}
		h := &hops{Pair: n + 1, Steps: []string{c.name(file)}}
		for _, t := range doc.Pairs[n].Tracks {
			if t.File == file {
				h.Steps = append(h.Steps, "bus "+t.Bus)
			}
		}
		a, b := l.Lines[0], l.Lines[1]
		h.Steps = append(h.Steps, fmt.Sprintf("pair %d, %s", l.Number, l.Name), fmt.Sprintf("%s outputs %d/%d", l.Interface, a.Output, b.Output),
			a.From.String()+" and "+b.From.String(), fmt.Sprintf("%s inputs %d/%d", p.Unit, a.SummingInput, b.SummingInput), "return, print track")
		return h, nil
	}
	return nil, fmt.Errorf("pair %d is not in the patch", n+1)
}

var _ io.ReadSeeker = (*stream)(nil)
