package printcheck

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"math"
	"os"
	"path/filepath"

	"foldout/features/atomicfile"
	"foldout/features/loudness"
	"foldout/features/wavfile"
)

// ExcerptOptions say what is written to listen to.
type ExcerptOptions struct {
	Dir     string
	FromS   float64 // in the mix; below 0 the loudest passage is taken
	LengthS float64 // 0 for 20 s: ITU-R BS.1116 asks for 10 to 25 s
	Force   bool    // replace excerpts that are there
}

// Excerpt describes the files of an excerpt folder. It is written beside them as excerpt.json.
type Excerpt struct {
	Schema            int     `json:"schema"`
	Mix               string  `json:"mix"`
	Print             string  `json:"print"`
	FromS             float64 `json:"from_s"` // in the mix
	LengthS           float64 `json:"length_s"`
	LoudnessLUFS      float64 `json:"loudness_lufs"`       // of A and of B
	MatchLU           float64 `json:"match_lu"`            // what is left between them
	PrintGainDB       float64 `json:"print_gain_db"`       // given to the print so that it is as loud as the mix
	BothGainDB        float64 `json:"both_gain_db"`        // given to both so that neither clips
	DifferenceBoostDB float64 `json:"difference_boost_db"` // given to difference.wav, print less mix
	RestBoostDB       float64 `json:"rest_boost_db"`       // given to rest.wav, what the best linear fit leaves
}

// Names of the files in an excerpt folder.
const (
	FileA          = "A.wav" // the mix
	FileB          = "B.wav" // the print, on the mix's clock, as loud
	FileDifference = "difference.wav"
	FileRest       = "rest.wav"
	FileExcerpt    = "excerpt.json"
)

const (
	excerptS  = 20.0
	fadeS     = 0.02
	topDBFS   = -0.5
	mostBoost = 60.0
)

// WriteExcerpt writes A, B, their difference and the rest of the fit for a passage both files hold. Files that are there are
// replaced with opt.Force only, and the mix and the print never.
func (r *Result) WriteExcerpt(ctx context.Context, opt ExcerptOptions) (*Excerpt, error) {
	a := r.aligned
	if err := os.MkdirAll(opt.Dir, 0o777); err != nil {
		return nil, err
	}
	if err := Claimable(opt, a.mix, a.print); err != nil {
		return nil, err
	}
	seg, from, n, err := r.passage(opt)
	if err != nil {
		return nil, err
	}
	x, y, rest, err := r.render(ctx, seg, from, n)
	if err != nil {
		return nil, err
	}
	rate := a.mixRate
	e := &Excerpt{Schema: SchemaVersion, Mix: filepath.Base(a.mix), Print: filepath.Base(a.print), FromS: float64(from) / float64(rate), LengthS: float64(n) / float64(rate)}
	for _, p := range [][2][]float32{x, y, rest} {
		fade(p, int(fadeS*float64(rate)))
	}
	loudX, peakX := heardLevel(x, rate)
	loudY, peakY := heardLevel(y, rate)
	if math.IsInf(loudX, 0) || math.IsInf(loudY, 0) {
		return nil, fmt.Errorf("%s of the mix is silent there; choose another passage", clock(e.FromS))
	}
	e.PrintGainDB = loudX - loudY
	e.BothGainDB = math.Min(0, topDBFS-math.Max(peakX, peakY+e.PrintGainDB))
	scale(x, e.BothGainDB)
	scale(y, e.PrintGainDB+e.BothGainDB)
	scale(rest, e.PrintGainDB+e.BothGainDB)
	loudX, _ = heardLevel(x, rate)
	loudY, _ = heardLevel(y, rate)
	e.LoudnessLUFS, e.MatchLU = loudX, loudY-loudX
	difference := planes(int(n))
	for c := range x {
		for i := range x[c] {
			difference[c][i] = y[c][i] - x[c][i]
		}
	}
	e.DifferenceBoostDB = boost(difference, rate, loudX)
	e.RestBoostDB = boost(rest, rate, loudX)
	for _, f := range []struct {
		name  string
		audio [2][]float32
	}{{FileA, x}, {FileB, y}, {FileDifference, difference}, {FileRest, rest}} {
		if err := write(filepath.Join(opt.Dir, f.name), rate, f.audio, opt.Force); err != nil {
			return nil, err
		}
	}
	return e, atomicfile.Write(filepath.Join(opt.Dir, FileExcerpt), atomicfile.Options{Replace: opt.Force}, func(w io.Writer) error {
		j := json.NewEncoder(w)
		j.SetIndent("", "  ")
		return j.Encode(e)
	})
}

// Claimable says, before any work is done, whether an excerpt of two files may be written into its folder.
func Claimable(opt ExcerptOptions, mix, print string) error {
	for _, name := range []string{FileA, FileB, FileDifference, FileRest, FileExcerpt} {
		if err := claimable(filepath.Join(opt.Dir, name), opt.Force, mix, print); err != nil {
			return err
		}
	}
	return nil
}

// claimable says whether a file may be written.
func claimable(path string, force bool, inputs ...string) error {
	st, err := os.Stat(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil
	}
	if err != nil {
		return err
	}
	for _, in := range inputs {
		if other, err := os.Stat(in); err == nil && os.SameFile(st, other) {
			return fmt.Errorf("%s is one of the two files that are compared and is never written over; choose another folder", path)
		}
	}
	if !force {
		return fmt.Errorf("%s exists; choose another folder or give --force to replace it", path)
	}
	return nil
}

// passage chooses the segment, first frame and length.
func (r *Result) passage(opt ExcerptOptions) (seg int, from, n int64, err error) {
	a := r.aligned
	rate := float64(a.mixRate)
	want := opt.LengthS
	if want == 0 {
		want = excerptS
	}
	n = int64(want * rate)
	if opt.FromS >= 0 {
		from = int64(opt.FromS * rate)
		for i, s := range a.course.segments {
			if from >= s.from && from < s.to {
				return i, from, min(n, s.to-from), nil
			}
		}
		return 0, 0, 0, fmt.Errorf("%s of the mix is not in the print; it holds %s", clock(opt.FromS), r.held())
	}
	best := -1.0
	for i, s := range a.course.segments {
		length := min(n, s.to-s.from)
		for at := s.from; at+length <= s.to; at += int64(rate) {
			// The louder the better, and whole passages before short ones.
			if v := a.energy(at, at+length) * float64(length); v > best {
				best, seg, from = v, i, at
			}
		}
	}
	s := a.course.segments[seg]
	return seg, from, min(n, s.to-from), nil
}

func (r *Result) held() (text string) {
	for i, s := range r.Segments {
		if i > 0 {
			text += ", "
		}
		text += clock(s.FromS) + " to " + clock(s.ToS)
	}
	return text
}

// render reads the passage of the mix, of the print on its clock, and what the fit leaves of the print.
func (r *Result) render(ctx context.Context, seg int, from, n int64) (x, y, rest [2][]float32, err error) {
	a := r.aligned
	p, err := openPair(a.mix, a.print, a.kernel)
	if err != nil {
		return
	}
	defer p.close() //nolint:errcheck // opened for reading
	x, y, rest = planes(int(n)), planes(int(n)), planes(int(n))
	if err = p.readMix(from, x); err != nil {
		return
	}
	pass := newPass(p, a, r.gathered, r.folds)
	hop := int64(r.gathered.size / 2)
	for at := from; at < from+n; at += hop {
		if err = ctx.Err(); err != nil {
			return
		}
		if err = p.readMix(at+int64(r.gathered.lead)-hop, pass.in); err != nil {
			return
		}
		if err = a.readPrint(p, seg, at, pass.y); err != nil {
			return
		}
		pass.fitted(1 - r.foldAt(at))
		for c := range rest {
			for i := int64(0); i < hop && at+i < from+n; i++ {
				rest[c][at-from+i] = pass.y[c][i] - pass.u[c][i]
			}
		}
	}
	// What the course leaves of the delay is taken out of B as well.
	late := *a
	course := *a.course
	course.segments = append([]segment(nil), course.segments...)
	if math.Abs(r.fraction) >= 1e-4 {
		course.segments[seg].offset += r.fraction * course.step
	}
	late.course = &course
	err = late.readPrint(p, seg, from, y)
	return
}

// foldAt is the half of the song that a frame of the mix belongs to.
func (r *Result) foldAt(frame int64) int {
	for _, s := range r.parts {
		if frame >= s.from && frame < s.to {
			return s.fold
		}
	}
	return 0
}

func fade(p [2][]float32, n int) {
	for c := range p {
		last := len(p[c]) - 1
		for i := range min(n, len(p[c])/2) {
			w := float32(0.5 - 0.5*math.Cos(math.Pi*(float64(i)+0.5)/float64(n)))
			p[c][i] *= w
			p[c][last-i] *= w
		}
	}
}

func scale(p [2][]float32, db float64) {
	g := float32(math.Pow(10, db/20))
	for c := range p {
		for i := range p[c] {
			p[c][i] *= g
		}
	}
}

// heardLevel is the loudness (LUFS; by plain power where the passage is too short or too soft for the gates) and the
// highest true peak (dBTP).
func heardLevel(p [2][]float32, rate int) (lufs, peak float64) {
	m := loudness.New(rate, 2)
	m.Write(p[:])
	r := m.Result()
	if !math.IsInf(r.IntegratedLUFS, 0) {
		return r.IntegratedLUFS, r.TruePeakDBTP
	}
	var sum float64
	for _, plane := range p {
		for _, v := range plane {
			sum += float64(v) * float64(v)
		}
	}
	return -0.691 + 10*math.Log10(sum/float64(len(p[0]))), r.TruePeakDBTP
}

// boost lifts a rest in whole decibels until it is as loud as the music it was taken from, or its peaks reach full scale.
func boost(p [2][]float32, rate int, loud float64) float64 {
	l, peak := heardLevel(p, rate)
	if math.IsInf(peak, 0) {
		return 0
	}
	db := math.Min(mostBoost, topDBFS-peak)
	if !math.IsInf(l, 0) {
		db = math.Min(db, loud-l)
	}
	db = math.Floor(db)
	scale(p, db)
	return db
}

func write(path string, rate int, p [2][]float32, force bool) error {
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rate, Channels: 2, Encoding: wavfile.PCM24, Dither: true}, force)
	if err != nil {
		return err
	}
	defer w.Abort() //nolint:errcheck // after Close it does nothing
	if err := w.Write(p[:]); err != nil {
		return err
	}
	return w.Close()
}
