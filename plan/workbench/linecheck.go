package workbench

import (
	"context"
	"encoding/json"
	"errors"
	"fmt"
	"math"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"foldout/features"
	"foldout/features/align"
	"foldout/features/atomicfile"
	"foldout/features/wavfile"
	"foldout/plan/channel"
	"foldout/plan/linecheck/portrait"
	"foldout/plan/linecheck/tones"
	"foldout/plan/linecheck/trace"
	"foldout/plan/rig"
)

// lineFolder is added to the name of the session for a folder of test tones. What the recorded returns said lies in it too.
const lineFolder = " line check"

// LineView is the line check as the page shows it.
type LineView struct {
	Cautions []string    `json:"cautions"`
	Sets     []ToneSet   `json:"sets"` // the newest last
	Shown    *LineResult `json:"shown"`
}

// ToneSet is a folder of test tones.
type ToneSet struct {
	Name    string        `json:"name"`
	Dir     string        `json:"dir"`
	Outputs int           `json:"outputs"`
	LevelDB float64       `json:"level_db"`
	Seconds float64       `json:"seconds"`
	HowTo   []string      `json:"how_to"`
	Levels  []tones.Level `json:"levels"`
	Results []string      `json:"results"` // the newest last
}

// LineResult is what a recorded return says.
type LineResult struct {
	Set      string          `json:"set"`
	Name     string          `json:"name"`
	Return   string          `json:"return"`
	Unit     string          `json:"unit"`
	Outputs  []OutputView    `json:"outputs"`
	Loop     []trace.Verdict `json:"loop"` // what concerns all outputs
	Moved    []string        `json:"moved"`
	Faults   int             `json:"faults"`
	Warnings int             `json:"warnings"`
}

// OutputView is one output: the worst that was found of it, and all of it in words.
type OutputView struct {
	Output   int      `json:"output"`
	Label    string   `json:"label"`
	Severity string   `json:"severity"`
	Texts    []string `json:"texts"`
}

// UnitView is the channel that was measured, for hearing.
type UnitView struct {
	From     string  `json:"from"`
	A2       float64 `json:"a2"`
	A3       float64 `json:"a3"`
	SecondDB float64 `json:"second_db"`
	ThirdDB  float64 `json:"third_db"`
	Why      string  `json:"why"` // why it cannot be heard, "" where it can
}

// traced is a result with where it is kept.
type traced struct {
	set, name string
	result    *trace.Result
}

// besides lists folders beside the session whose names begin with its own and an addition.
func (s *session) besides(addition string) (dirs []string) {
	dir := filepath.Dir(s.keep.path)
	entries, err := os.ReadDir(dir)
	if err != nil {
		return nil
	}
	for _, e := range entries {
		if e.IsDir() && strings.HasPrefix(e.Name(), s.base()+addition) {
			dirs = append(dirs, filepath.Join(dir, e.Name()))
		}
	}
	slices.SortFunc(dirs, features.NaturalCompare)
	return dirs
}

// freeBeside is a path beside the session that nothing has.
func (s *session) freeBeside(addition string) string {
	base := filepath.Join(filepath.Dir(s.keep.path), s.base()+addition)
	path := base
	for n := 2; ; n++ {
		if _, err := os.Lstat(path); errors.Is(err, os.ErrNotExist) {
			return path
		}
		path = fmt.Sprintf("%s %d", base, n)
	}
}

// toneSets lists the folders of tones with their results.
func (s *session) toneSets() []ToneSet {
	out := []ToneSet{}
	for _, dir := range s.besides(lineFolder) {
		p, err := tones.LoadPlan(dir)
		if err != nil {
			continue
		}
		how := p.HowTo()
		how[len(how)-1] = "Export the recording as it is, without normalising, fades or a change of rate, and choose it below."
		set := ToneSet{Name: filepath.Base(dir), Dir: dir, Outputs: len(p.Sends), LevelDB: p.LevelDB, Seconds: p.Program().Seconds(), HowTo: how, Levels: p.Levels(), Results: []string{}}
		names, err := os.ReadDir(dir)
		if err == nil {
			for _, e := range names {
				if strings.HasPrefix(e.Name(), "check") && strings.HasSuffix(e.Name(), ".json") {
					set.Results = append(set.Results, strings.TrimSuffix(e.Name(), ".json"))
				}
			}
		}
		slices.SortFunc(set.Results, features.NaturalCompare)
		out = append(out, set)
	}
	return out
}

// toneSet finds a folder of tones by name.
func (s *session) toneSet(name string) (*ToneSet, error) {
	sets := s.toneSets()
	n := slices.IndexFunc(sets, func(t ToneSet) bool { return t.Name == name })
	if n < 0 {
		return nil, fmt.Errorf("there is no folder of tones %q beside the session", name)
	}
	return &sets[n], nil
}

// line draws the line check. Call it with the lock held.
func (s *session) line() *LineView {
	v := &LineView{Cautions: tones.Cautions, Sets: s.toneSets()}
	if s.traced == nil { // the newest that was kept
		for i := len(v.Sets) - 1; i >= 0 && s.traced == nil; i-- {
			if set := &v.Sets[i]; len(set.Results) > 0 {
				if t, err := readTrace(set, set.Results[len(set.Results)-1]); err == nil {
					s.traced = t
				}
			}
		}
	}
	if s.traced != nil {
		v.Shown = lineResult(s.traced)
	}
	return v
}

func lineResult(t *traced) *LineResult {
	r := t.result
	out := &LineResult{Set: t.set, Name: t.name, Return: r.Return, Unit: r.Unit, Outputs: []OutputView{}, Loop: []trace.Verdict{}, Moved: append([]string{}, r.Moved...)}
	at := map[int]*OutputView{}
	for _, c := range r.Channels {
		o := OutputView{Output: c.Output, Label: c.Label, Severity: trace.OK, Texts: []string{}}
		if c.Alive == nil {
			o.Severity = ""
		}
		out.Outputs = append(out.Outputs, o)
	}
	for i := range out.Outputs {
		at[out.Outputs[i].Output] = &out.Outputs[i]
	}
	rank := []string{"", trace.OK, trace.Note, trace.Warning, trace.Fault}
	for _, v := range r.Verdicts {
		switch v.Severity {
		case trace.Fault:
			out.Faults++
		case trace.Warning:
			out.Warnings++
		}
		o := (*OutputView)(nil)
		if v.Output != nil {
			o = at[*v.Output]
		}
		if o == nil {
			out.Loop = append(out.Loop, v)
			continue
		}
		o.Texts = append(o.Texts, v.Text)
		if slices.Index(rank, v.Severity) > slices.Index(rank, o.Severity) {
			o.Severity = v.Severity
		}
	}
	return out
}

// makeTones begins to write the test tones for the pairs of the sheet on the rig.
func (s *session) makeTones(levelDB float64, quick, careful bool) error {
	if !careful {
		return errors.New("read the cautions first and say that the monitors are off")
	}
	if levelDB < -60 || levelDB > 0 {
		return fmt.Errorf("%g dB: want -60 to 0", levelDB)
	}
	doc, r, _, err := s.whole()
	if err != nil {
		return err
	}
	plan := tones.ForSheet(doc)
	if r != nil {
		if plan, err = tones.ForRig(r, doc); err != nil {
			return err
		}
	}
	if len(plan.Sends) > tones.MaxOutputs {
		return fmt.Errorf("tones serve %d outputs at most; the sheet has %d", tones.MaxOutputs, len(plan.Sends))
	}
	rate := 48000
	if sound, err := s.audible(); err == nil && slices.Contains(tones.Rates, sound.session.RateHz) {
		rate = sound.session.RateHz
	}
	return s.run("tones", func(ctx context.Context, progress func(done, total int64)) error {
		s.mu.Lock()
		dir := s.freeBeside(lineFolder)
		s.mu.Unlock()
		folder, err := atomicfile.CreateFolder(dir)
		if err != nil {
			return err
		}
		if err := plan.Write(ctx, tones.Options{Dir: folder.Temp, RateHz: rate, Encoding: wavfile.PCM24, Quick: quick, LevelDB: levelDB, Progress: progress}); err != nil {
			return errors.Join(err, folder.Abort())
		}
		return folder.Commit()
	})
}

// readReturn begins to read a recorded return of a folder's tones; baseline names an earlier result of any folder, as
// "folder/result", "" for none.
func (s *session) readReturn(set, path, baseline string) error {
	s.mu.Lock()
	t, err := s.toneSet(set)
	var last *traced
	if err == nil && baseline != "" {
		last, err = s.kept(baseline)
	}
	s.mu.Unlock()
	if err != nil {
		return err
	}
	plan, err := tones.LoadPlan(t.Dir)
	if err != nil {
		return err
	}
	return s.run("trace", func(ctx context.Context, progress func(done, total int64)) error {
		r, err := trace.Trace(ctx, path, plan, trace.Options{Progress: progress})
		if err != nil {
			return err
		}
		if last != nil {
			r.Compare(last.result)
		}
		data, err := json.MarshalIndent(r, "", "  ")
		if err != nil {
			return err
		}
		kept, err := fresh(t.Dir, "check", ".json", append(data, '\n'))
		if err != nil {
			return err
		}
		s.mu.Lock()
		s.traced = &traced{t.Name, strings.TrimSuffix(filepath.Base(kept), ".json"), r}
		s.mu.Unlock()
		return nil
	})
}

// kept finds an earlier result by "folder/result".
func (s *session) kept(name string) (*traced, error) {
	dir, result, _ := strings.Cut(name, "/")
	set, err := s.toneSet(dir)
	if err != nil {
		return nil, err
	}
	return readTrace(set, result)
}

func readTrace(set *ToneSet, name string) (*traced, error) {
	if !slices.Contains(set.Results, name) {
		return nil, fmt.Errorf("%s holds no result %q", set.Name, name)
	}
	path := filepath.Join(set.Dir, name+".json")
	data, err := os.ReadFile(path)
	if err != nil {
		return nil, err
	}
	r := &trace.Result{}
	if err := json.Unmarshal(data, r); err != nil || r.Schema != trace.Schema || len(r.Channels) == 0 {
		return nil, fmt.Errorf("%s is no result of a line check of this version", path)
	}
	return &traced{set.Name, name, r}, nil
}

// showReturn shows an earlier result.
func (s *session) showReturn(name string) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	t, err := s.kept(name)
	if err != nil {
		return err
	}
	s.traced = t
	s.touch()
	return nil
}

// linePart draws the figures and curves of the result that is shown.
func (s *session) linePart() (string, error) {
	s.mu.Lock()
	t := s.traced
	s.mu.Unlock()
	if t == nil {
		return "", errors.New("no return has been read yet")
	}
	return portrait.Part(t.result)
}

const (
	strayDB    = 1.5 // an output that is off by more has a fault and does not speak for the unit
	nearDB     = 6.0 // how far from the operating level the colour may have been measured
	quietestDB = -140.0
)

// measuredUnit is the channel that the result shows: second and third harmonic of the middle output at 1 kHz, brought to the
// operating level (the second of a power series follows the level, the third its square).
func measuredUnit(t *traced, operating float64) *UnitView {
	r := t.result
	u := &UnitView{From: t.set + ", " + t.name}
	if r.Unit != "" {
		u.From = r.Unit + ", " + t.name
	}
	off := r.ToneDBFS - operating
	if math.Abs(off) > nearDB {
		u.Why = fmt.Sprintf("measured %.0f dB from the operating level, where a unit has another colour; run the line check at operating level", off)
		return u
	}
	var second, third []float64
	for _, c := range r.Channels {
		if c.Alive == nil || !*c.Alive || math.Abs(float64(c.OffDB)) > strayDB {
			continue
		}
		for _, h := range c.Harmonics {
			v := math.Max(quietestDB, at1kHz(h.Points))
			switch h.Order {
			case 2:
				second = append(second, v)
			case 3:
				third = append(third, v)
			}
		}
	}
	if len(second) == 0 || len(third) == 0 {
		u.Why = "no output shows its harmonics"
		return u
	}
	u.SecondDB, u.ThirdDB = align.Median(second)-off, align.Median(third)-2*off
	c := channel.Of(u.SecondDB, u.ThirdDB)
	u.A2, u.A3 = c.A2, c.A3
	return u
}

// at1kHz is the level at the point nearest to 1 kHz; far below everything where there is none.
func at1kHz(points []trace.Point) float64 {
	best, near := math.Inf(-1), math.Inf(1)
	for _, p := range points {
		if d := math.Abs(math.Log(p.Hz / 1000)); d < near && !math.IsNaN(float64(p.DB)) {
			near, best = d, float64(p.DB)
		}
	}
	return best
}

// operating is the operating level of the present rig, in dBFS.
func operating(c *Choice) float64 {
	if c.Rig != nil {
		return c.Rig.Alignment.DBFS
	}
	return rig.DefaultAlignment.DBFS
}
