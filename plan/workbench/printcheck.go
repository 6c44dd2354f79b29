package workbench

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"foldout/features"
	"foldout/features/wavfile"
	"foldout/plan/printcheck"
	"foldout/plan/printcheck/blind"
	"foldout/plan/serve"
	"foldout/plan/stems"
)

// printFolder is added to the name of the session for the folder of its print check.
const printFolder = " print check"

// PrintView is the print check as the page shows it.
type PrintView struct {
	Result   *printcheck.Result `json:"result"`
	Words    string             `json:"words"`
	Fresh    bool               `json:"fresh"` // excerpts can be written of it
	Excerpts []ExcerptView      `json:"excerpts"`
	Blind    string             `json:"blind"` // the excerpts that are ready for the blind test
}

// ExcerptView is a folder of excerpts.
type ExcerptView struct {
	Name string `json:"name"`
	printcheck.Excerpt
}

// print draws the print check. Call it with the lock held.
func (s *session) print() *PrintView {
	dir := filepath.Join(filepath.Dir(s.keep.path), s.base()+printFolder)
	v := &PrintView{Excerpts: []ExcerptView{}, Blind: s.blindOf}
	if s.compared == nil {
		s.compared = lastComparison(dir)
	}
	if s.compared != nil {
		v.Result, v.Words, v.Fresh = s.compared, s.compared.Words(), s.comparedNow
	}
	entries, err := os.ReadDir(dir)
	if err != nil {
		return v
	}
	for _, e := range entries {
		x := ExcerptView{Name: e.Name()}
		data, err := os.ReadFile(filepath.Join(dir, e.Name(), printcheck.FileExcerpt))
		if err == nil && json.Unmarshal(data, &x.Excerpt) == nil {
			v.Excerpts = append(v.Excerpts, x)
		}
	}
	slices.SortFunc(v.Excerpts, func(a, b ExcerptView) int { return features.NaturalCompare(a.Name, b.Name) })
	return v
}

// lastComparison reads the newest comparison that was kept; nil for none.
func lastComparison(dir string) *printcheck.Result {
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil
	}
	var names []string
	for _, e := range entries {
		if strings.HasPrefix(e.Name(), "compare") && strings.HasSuffix(e.Name(), ".json") {
			names = append(names, e.Name())
		}
	}
	slices.SortFunc(names, features.NaturalCompare)
	for i := len(names) - 1; i >= 0; i-- {
		r := &printcheck.Result{}
		data, err := os.ReadFile(filepath.Join(dir, names[i]))
		if err == nil && json.Unmarshal(data, r) == nil && r.Schema == printcheck.SchemaVersion {
			return r
		}
	}
	return nil
}

// compare begins to compare a print with a mix; mix "" stands for the sum of the tracks on the pairs, which is written
// beside the session first.
func (s *session) compare(mix, print string) error {
	s.mu.Lock()
	dir := filepath.Join(filepath.Dir(s.keep.path), s.base()+printFolder)
	var files []string
	for _, p := range s.choice().Pairs {
		files = append(files, p.Tracks...)
	}
	s.mu.Unlock()
	if print == "" {
		return errors.New("choose the print first")
	}
	return s.run("compare", func(ctx context.Context, progress func(done, total int64)) error {
		if err := os.MkdirAll(dir, 0o777); err != nil {
			return err
		}
		if mix == "" {
			var err error
			if mix, err = s.bounce(ctx, dir, files, progress); err != nil {
				return err
			}
		}
		r, err := printcheck.Compare(ctx, mix, print, printcheck.Options{Progress: progress})
		if err != nil {
			return err
		}
		data, err := json.MarshalIndent(r, "", "  ")
		if err != nil {
			return err
		}
		if _, err := fresh(dir, "compare", ".json", append(data, '\n')); err != nil {
			return err
		}
		s.mu.Lock()
		s.compared, s.comparedNow = r, true
		s.mu.Unlock()
		return nil
	})
}

// bounce writes the sum of tracks as a stereo file of 32-bit floats, or finds it as it was written in this run.
func (s *session) bounce(ctx context.Context, dir string, files []string, progress func(done, total int64)) (path string, err error) {
	sound, err := s.audible()
	if err != nil {
		return "", err
	}
	key := company(nil, files) + sound.made.String()
	s.mu.Lock()
	path = s.bounced[key]
	s.mu.Unlock()
	if _, err := os.Stat(path); path != "" && err == nil {
		return path, nil
	}
	m, err := sound.session.Mixdown("mix", files)
	if err != nil {
		return "", err
	}
	sum, err := m.Open()
	if err != nil {
		return "", err
	}
	defer sum.Close()
	for n := 1; ; n++ {
		path = filepath.Join(dir, "mix"+numbered(n)+".wav")
		if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
			break
		}
	}
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: sound.session.RateHz, Channels: 2, Encoding: wavfile.Float32}, false)
	if err != nil {
		return "", err
	}
	defer w.Abort() //nolint:errcheck // after Close it does nothing; before, the first error counts
	block := [2][]float64{make([]float64, stems.BlockFrames), make([]float64, stems.BlockFrames)}
	for at := int64(0); at < m.Frames; {
		if err := ctx.Err(); err != nil {
			return "", err
		}
		n, err := sum.Read(block)
		if n > 0 {
			if err := w.WriteFloat64([][]float64{block[0][:n], block[1][:n]}); err != nil {
				return "", err
			}
		}
		if err != nil && !errors.Is(err, io.EOF) {
			return "", err
		}
		if n == 0 {
			break
		}
		at += int64(n)
		progress(at, m.Frames)
	}
	if err := w.Close(); err != nil {
		return "", err
	}
	s.mu.Lock()
	s.bounced[key] = path
	s.mu.Unlock()
	return path, nil
}

// excerpt begins to write a passage of mix and print, aligned and equally loud; fromS below 0 for the loudest.
func (s *session) excerpt(fromS float64) error {
	s.mu.Lock()
	r, ready := s.compared, s.comparedNow
	dir := filepath.Join(filepath.Dir(s.keep.path), s.base()+printFolder)
	s.mu.Unlock()
	if r == nil || !ready {
		return errors.New("compare mix and print first")
	}
	return s.run("excerpt", func(ctx context.Context, _ func(done, total int64)) error {
		path := filepath.Join(dir, "excerpt")
		for n := 2; ; n++ {
			if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
				break
			}
			path = filepath.Join(dir, fmt.Sprintf("excerpt %d", n))
		}
		if _, err := r.WriteExcerpt(ctx, printcheck.ExcerptOptions{Dir: path, FromS: fromS}); err != nil {
			return err
		}
		return s.listenTo(filepath.Base(path))
	})
}

// listenTo readies the blind test of a folder of excerpts.
func (s *session) listenTo(name string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if !slices.ContainsFunc(s.print().Excerpts, func(x ExcerptView) bool { return x.Name == name }) {
		return fmt.Errorf("there are no excerpts %q", name)
	}
	if s.blindOf == name {
		return nil // a test that is under way stays
	}
	dir := filepath.Join(filepath.Dir(s.keep.path), s.base()+printFolder, name)
	e, err := blind.Open(filepath.Join(dir, printcheck.FileA), filepath.Join(dir, printcheck.FileB))
	if err != nil {
		return err
	}
	s.blind, s.blindOf = blind.NewTest(e).Handler(), name
	s.touch()
	return nil
}

// blindTest passes requests on to the blind test that is ready.
func (b *Bench) blindTest(w http.ResponseWriter, r *http.Request) {
	s := b.current()
	var h http.Handler
	if s != nil {
		s.mu.Lock()
		h = s.blind
		s.mu.Unlock()
	}
	if h == nil {
		serve.WriteError(w, http.StatusNotFound, errors.New("no blind test is ready; choose excerpts on the leaf Print check"))
		return
	}
	http.StripPrefix("/blind", h).ServeHTTP(w, r)
}
