package stems

import (
	"context"
	"errors"
	"fmt"
	"io"
	"math"
	"os"
	"path/filepath"
	"runtime"
	"strings"
	"sync"

	"golang.org/x/sync/errgroup"

	"foldout/features"
	"foldout/features/atomicfile"
	"foldout/features/wavfile"
)

// WriteOptions say how stems are written.
type WriteOptions struct {
	Dir      string                  // made if it does not exist
	Float    bool                    // 32-bit float instead of PCM
	Bits     int                     // of PCM: 16 or 24; 0 for 24
	Auto     bool                    // 32-bit float instead of PCM where a sum does not fit, with a note
	Buses    bool                    // a file for each bus as well
	GainDB   float64                 // of all pairs
	PairDB   map[int]float64         // of single pairs, by number, on top of it
	Force    bool                    // replace existing files, never the tracks themselves
	Seed     uint64                  // of the dither
	Progress func(done, total int64) // frames of pairs, one call at a time; may be nil
	Keep     []string                // further files that must not be replaced
}

// Stem is one file written.
type Stem struct {
	Pair     int         `json:"pair"`
	Bus      string      `json:"bus,omitempty"` // "" for the pair itself
	Name     string      `json:"name"`
	Path     string      `json:"path"`
	Tracks   int         `json:"tracks"`
	PeakDBFS features.DB `json:"sample_peak_dbfs"`
	Dithered bool        `json:"dithered"`
	GainDB   float64     `json:"gain_db"` // of this file
}

const (
	encoding16    = "16-bit PCM"
	encodingPCM   = "24-bit PCM"
	encodingFloat = "32-bit float"
)

// Written is what Write did.
type Written struct {
	RateHz        int      `json:"sample_rate_hz"`
	Frames        int64    `json:"frames"`
	TimeReference int64    `json:"time_reference"` // of the first frame, samples since midnight
	Encoding      string   `json:"encoding"`       // "16-bit PCM", "24-bit PCM" or "32-bit float"
	GainDB        float64  `json:"gain_db"`
	Stems         []Stem   `json:"stems"`
	Notes         []string `json:"notes"`
}

// Write writes one stereo file per pair that has tracks, and per bus if wanted, all of one length and with the session's
// time reference. Either all files appear or none: an error or a cancelled context leaves nothing behind. A sum that PCM
// cannot hold is an *OversError, or with Auto makes all files 32-bit float.
func (s *Session) Write(ctx context.Context, opt WriteOptions) (*Written, error) {
	if opt.Bits == 0 {
		opt.Bits = 24
	}
	if opt.Bits != 16 && opt.Bits != 24 {
		return nil, fmt.Errorf("PCM of %d bits: want 16 or 24", opt.Bits)
	}
	w, err := s.write(ctx, opt)
	var overs *OversError
	if !opt.Auto || !errors.As(err, &overs) {
		return w, err
	}
	opt.Float = true
	if w, err = s.write(ctx, opt); err == nil {
		w.Notes = append([]string{overs.note(opt.Bits)}, w.Notes...)
	}
	return w, err
}

func (s *Session) write(ctx context.Context, opt WriteOptions) (_ *Written, err error) {
	if math.IsNaN(opt.GainDB) || math.Abs(opt.GainDB) > 100 {
		return nil, fmt.Errorf("gain of %v dB: want -100 to 100", opt.GainDB)
	}
	jobs := s.jobs(opt)
	ownNames(jobs)
	if err := s.free(jobs, opt); err != nil {
		return nil, err
	}
	if err := s.apart(opt.Dir); err != nil {
		return nil, err
	}
	made, err := makeDir(opt.Dir)
	if err != nil {
		return nil, err
	}
	defer func() {
		if err != nil && made {
			err = errors.Join(err, removeEmpty(opt.Dir))
		}
	}()
	defer func() {
		for _, j := range jobs {
			err = errors.Join(err, j.abort())
		}
	}()
	if err := s.render(ctx, jobs, opt); err != nil {
		return nil, err
	}
	if err := s.judge(jobs, opt); err != nil {
		return nil, err
	}
	if err := publish(jobs, opt.Force); err != nil {
		return nil, err
	}
	return s.report(jobs, opt), nil
}

// job is one pair being written, with its buses.
type job struct {
	mix    Mix
	buses  []Mix
	files  []*file  // the pair, then its buses
	damage []string // of its tracks, see Summer.Damage
}

// file is one stem being written.
type file struct {
	stem   Stem
	mix    *Mix
	writer *wavfile.Writer
	overs  *Overs
}

func (s *Session) jobs(opt WriteOptions) (jobs []*job) {
	total := len(s.Mixes)
	for _, m := range s.Mixes {
		if len(m.Tracks) == 0 {
			continue
		}
		j := &job{mix: m}
		j.files = append(j.files, &file{mix: &j.mix, stem: Stem{Pair: m.Number, Name: m.Name, Path: filepath.Join(opt.Dir, FileName(m.Number, total, m.Name)), Tracks: len(m.Tracks)}})
		if opt.Buses {
			if j.buses = m.buses(); len(j.buses) == 1 {
				j.buses = nil // the pair's own file is the bus
			}
			for n := range j.buses {
				b := &j.buses[n]
				path := filepath.Join(opt.Dir, BusFileName(m.Number, total, n+1, b.Name))
				j.files = append(j.files, &file{mix: b, stem: Stem{Pair: m.Number, Bus: b.Name, Name: b.Name, Path: path, Tracks: len(b.Tracks)}})
			}
		}
		for _, f := range j.files {
			f.stem.GainDB = opt.GainDB + opt.PairDB[m.Number]
			f.stem.Dithered = !opt.Float && (f.stem.GainDB != 0 || !f.mix.onGrid(opt.Bits))
		}
		jobs = append(jobs, j)
	}
	return jobs
}

// apart makes sure that no stem lands among the tracks, where the next reading of the folder would take it for one.
func (s *Session) apart(dir string) error {
	out, err := os.Stat(dir)
	if err != nil {
		return nil // new, or writing will say it better
	}
	folders := map[string]bool{s.Folder: true}
	s.each(func(t *Track) { folders[filepath.Dir(t.Path)] = true })
	for i := range s.Spare {
		folders[filepath.Dir(s.Spare[i].Path)] = true
	}
	for folder := range folders {
		if st, err := os.Stat(folder); err == nil && os.SameFile(st, out) {
			return fmt.Errorf("%s holds the tracks that are read; write the stems to another folder, such as %s", dir, filepath.Join(dir, "stems"))
		}
	}
	return nil
}

// free makes sure that no file is in the way, and that no track would be replaced.
func (s *Session) free(jobs []*job, opt WriteOptions) error {
	var sources []os.FileInfo
	note := func(path string) {
		if st, err := os.Stat(path); err == nil {
			sources = append(sources, st)
		}
	}
	s.each(func(t *Track) { note(t.Path) })
	for i := range s.Spare {
		note(s.Spare[i].Path)
	}
	for _, path := range opt.Keep {
		note(path)
	}
	var exist []string
	for _, j := range jobs {
		for _, f := range j.files {
			st, err := os.Stat(f.stem.Path)
			for _, source := range sources {
				if err == nil && os.SameFile(st, source) {
					return fmt.Errorf("%s is one of the files that are read; write the stems to another folder", f.stem.Path)
				}
			}
			if _, err := os.Lstat(f.stem.Path); err == nil {
				exist = append(exist, filepath.Base(f.stem.Path))
			}
		}
	}
	if len(exist) > 0 && !opt.Force {
		return fmt.Errorf("already in %s: %s; choose another folder or give --force to replace them", opt.Dir, strings.Join(exist, ", "))
	}
	return nil
}

func makeDir(dir string) (made bool, err error) {
	if st, err := os.Stat(dir); err == nil {
		if !st.IsDir() {
			return false, fmt.Errorf("%s is a file, not a folder", dir)
		}
		return false, nil
	}
	return true, os.MkdirAll(dir, 0o777)
}

// removeEmpty removes a folder that Write made, unless someone has put something into it meanwhile.
func removeEmpty(dir string) error {
	if rest, err := os.ReadDir(dir); err != nil || len(rest) > 0 {
		return err
	}
	return os.Remove(dir)
}

// render sums and writes all pairs, as many at a time as there are processors.
func (s *Session) render(ctx context.Context, jobs []*job, opt WriteOptions) error {
	group, ctx := errgroup.WithContext(ctx)
	group.SetLimit(runtime.GOMAXPROCS(0))
	var mutex sync.Mutex
	var done int64
	total := s.Frames * int64(len(jobs))
	for _, j := range jobs {
		group.Go(func() error {
			return s.run(ctx, j, opt, func(n int) {
				if opt.Progress != nil {
					mutex.Lock()
					defer mutex.Unlock()
					done += int64(n)
					opt.Progress(done, total)
				}
			})
		})
	}
	return group.Wait()
}

// run sums and writes one pair and its buses.
func (s *Session) run(ctx context.Context, j *job, opt WriteOptions, progress func(int)) (err error) {
	if err := ctx.Err(); err != nil {
		return err
	}
	gain := math.Pow(10, j.files[0].stem.GainDB/20)
	for n, f := range j.files {
		if err := f.create(s, opt, gain, uint64(n)); err != nil {
			return err
		}
	}
	sum, err := j.mix.openWith(j.buses)
	if err != nil {
		return err
	}
	defer func() { err = errors.Join(err, sum.Close()) }()
	block := [2][]float64{make([]float64, BlockFrames), make([]float64, BlockFrames)}
	for {
		n, err := sum.Read(block)
		if err == io.EOF {
			j.damage = sum.Damage()
			return nil
		}
		if err != nil {
			return err
		}
		for k, f := range j.files {
			part := [2][]float64{block[0][:n], block[1][:n]}
			if k > 0 {
				sum.bus(k-1, part, n)
			}
			if err := f.write(part, gain); err != nil {
				return err
			}
		}
		progress(n)
		if err := ctx.Err(); err != nil {
			return err
		}
	}
}

// create opens the file under its temporary name.
func (f *file) create(s *Session, opt WriteOptions, gain float64, n uint64) error {
	format := wavfile.Format{
		SampleRateHz: s.RateHz, Channels: 2, Encoding: wavfile.PCM24, Dither: f.stem.Dithered,
		Seed: opt.Seed<<20 ^ uint64(f.stem.Pair)<<10 ^ n, Bext: s.bext(f.stem, opt),
	}
	f.overs = NewOvers(math.MaxFloat32/gain, s.RateHz)
	step := 1 / float64(int(1)<<(opt.Bits-1))
	if opt.Bits == 16 {
		format.Encoding = wavfile.PCM16
	}
	switch {
	case opt.Float:
		format.Encoding = wavfile.Float32
	case f.stem.Dithered: // which takes up to one step
		f.overs.High, f.overs.Low = (1-2*step)/gain, -(1-step)/gain
	default:
		f.overs.High, f.overs.Low = 1-step, -1
	}
	var err error
	f.writer, err = wavfile.Create(f.stem.Path, format, opt.Force)
	return err
}

// write watches a block for overs and writes it. It applies the gain in place.
func (f *file) write(block [2][]float64, gain float64) error {
	f.overs.Watch(block)
	if gain != 1 {
		for _, plane := range block {
			for i := range plane {
				plane[i] *= gain
			}
		}
	}
	return f.writer.WriteFloat64(block[:])
}

// bext describes a stem. Its time reference puts it where the session begins.
func (s *Session) bext(stem Stem, opt WriteOptions) *wavfile.Bext {
	b := &wavfile.Bext{
		Description: strings.TrimSuffix(filepath.Base(stem.Path), ".wav"), Originator: "foldout",
		OriginationDate: s.Date[0], OriginationTime: s.Date[1], TimeReference: s.Start,
	}
	if !opt.Float { // EBU R 98 knows no float
		b.CodingHistory = fmt.Sprintf("A=PCM,F=%d,W=%d,M=stereo,T=foldout\r\n", s.RateHz, opt.Bits)
	}
	return b
}

func (j *job) abort() error {
	var errs []error
	for _, f := range j.files {
		if f.writer != nil {
			errs = append(errs, f.writer.Abort())
		}
	}
	return errors.Join(errs...)
}

// publish gives all files their names. Should one fail, those before it go again, except where they replaced others.
func publish(jobs []*job, force bool) error {
	defer atomicfile.Hold()() // told to stop, the program stops before or after, not between two names
	var done []string
	for _, j := range jobs {
		for _, f := range j.files {
			if err := f.writer.Close(); err != nil {
				errs := []error{err}
				for _, path := range done {
					if !force {
						errs = append(errs, os.Remove(path))
					}
				}
				return errors.Join(errs...)
			}
			done = append(done, f.stem.Path)
		}
	}
	return nil
}

func (s *Session) report(jobs []*job, opt WriteOptions) *Written {
	w := &Written{RateHz: s.RateHz, Frames: s.Frames, TimeReference: s.Start, Encoding: encodingPCM, GainDB: opt.GainDB, Stems: []Stem{}, Notes: append([]string{}, s.Notes...)}
	switch {
	case opt.Float:
		w.Encoding = encodingFloat
	case opt.Bits == 16:
		w.Encoding = encoding16
	}
	for _, j := range jobs {
		for _, f := range j.files {
			w.Stems = append(w.Stems, f.stem)
			if f.stem.PeakDBFS > 0 {
				w.Notes = append(w.Notes, fmt.Sprintf("%s holds samples up to %+.2f dBFS: float keeps them, a converter clips them; turn the pairs down together by as much before they are played", filepath.Base(f.stem.Path), float64(f.stem.PeakDBFS)))
			}
		}
		w.Notes = append(w.Notes, j.damage...)
	}
	for _, m := range s.Mixes {
		if len(m.Tracks) == 0 {
			w.Notes = append(w.Notes, fmt.Sprintf("pair %d (%s) is free: no file for it", m.Number, m.Name))
		} else if opt.Buses && len(m.buses()) == 1 {
			w.Notes = append(w.Notes, fmt.Sprintf("pair %d (%s) is one bus: one file is both", m.Number, m.Name))
		}
	}
	return w
}
