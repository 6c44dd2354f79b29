package blind

import (
	"crypto/rand"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"path/filepath"
	"sync"
	"time"

	"foldout/features/atomicfile"
)

// Modes of a test.
const (
	ABX        = "abx"        // is X A or B?
	Preference = "preference" // which of two do you like better?
)

// Offered are the numbers of trials that can be chosen. Ten would miss most listeners: one who is right three times of four
// passes ten trials in a quarter of all tests, sixteen in 63 %, twenty-five in 73 %.
var Offered = []int{16, 25}

// Test is the state of the listening room: no test, one under way, or one that has ended.
type Test struct {
	excerpts *Excerpts
	now      func() time.Time

	mu      sync.Mutex
	mode    string
	order   []int // of each trial: which excerpt X (or 1) is
	answers []int // which excerpt was named, or chosen
	asked   []time.Time
	started time.Time
	result  *Result
}

// Result is what a finished test says. It is saved beside the excerpts.
type Result struct {
	Schema     int       `json:"schema"`
	Mode       string    `json:"mode"`
	A          string    `json:"a"`
	B          string    `json:"b"`
	ApartLU    float64   `json:"apart_lu"`
	Started    time.Time `json:"started"`
	Ended      time.Time `json:"ended"`
	Trials     int       `json:"trials"`
	Answered   int       `json:"answered"`
	Complete   bool      `json:"complete"`            // false: stopped early, and so not evaluated
	Right      *int      `json:"right,omitempty"`     // abx
	ChoseB     *int      `json:"chose_b,omitempty"`   // preference
	P          *float64  `json:"p,omitempty"`         // one-sided for abx, two-sided for preference
	Needed     int       `json:"needed,omitempty"`    // right answers for p <= 0.05
	PassRate   float64   `json:"pass_rate,omitempty"` // rate of right answers from which 4 of 5 tests are passed
	Text       string    `json:"text"`
	Log        []Trial   `json:"log,omitempty"`
	SavedAs    string    `json:"-"`
	SaveFailed string    `json:"-"`
}

// Trial is one question and its answer; only in a complete result.
type Trial struct {
	X       string  `json:"x"`      // what X, or the first of two, was: A or B
	Answer  string  `json:"answer"` // A or B
	Seconds float64 `json:"seconds"`
}

// Errors of a test.
var (
	ErrUnderWay = errors.New("a test is under way; answer its trials, or stop it (it is then not evaluated)")
	ErrNone     = errors.New("no test is under way")
	ErrTrial    = errors.New("that is not the trial that is asked")
)

// NewTest makes an empty listening room.
func NewTest(e *Excerpts) *Test { return &Test{excerpts: e, now: time.Now} }

func (t *Test) running() bool { return t.order != nil && t.result == nil }

// Start begins a test. The whole order is drawn now.
func (t *Test) Start(mode string, trials int) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if t.running() {
		return ErrUnderWay
	}
	if mode != ABX && mode != Preference {
		return fmt.Errorf("mode %q: want %s or %s", mode, ABX, Preference)
	}
	offered := false
	for _, n := range Offered {
		offered = offered || n == trials
	}
	if !offered {
		return fmt.Errorf("%d trials: want one of %v", trials, Offered)
	}
	bits := make([]byte, trials)
	if _, err := rand.Read(bits); err != nil {
		return fmt.Errorf("the system gives no random numbers: %w", err)
	}
	t.mode, t.result, t.answers, t.asked = mode, nil, nil, nil
	t.order = make([]int, trials)
	for i, b := range bits {
		t.order[i] = int(b & 1)
	}
	t.started = t.now()
	return nil
}

// Answer answers a trial, counted from 1: for abx which excerpt X is (0 for A, 1 for B), for preference which of the two that
// were played is liked better (0 for the first). After the last answer the test is evaluated and saved.
func (t *Test) Answer(trial, choice int) error {
	t.mu.Lock()
	defer t.mu.Unlock()
	switch {
	case !t.running():
		return ErrNone
	case trial != len(t.answers)+1:
		return ErrTrial
	case choice != 0 && choice != 1:
		return fmt.Errorf("answer %d: want 0 or 1", choice)
	}
	if t.mode == Preference { // the first of the two is excerpt order[i]
		choice ^= t.order[trial-1]
	}
	t.answers, t.asked = append(t.answers, choice), append(t.asked, t.now())
	if len(t.answers) == len(t.order) {
		t.finish(true)
	}
	return nil
}

// Stop ends a test early. What was answered is neither evaluated nor shown.
func (t *Test) Stop() error {
	t.mu.Lock()
	defer t.mu.Unlock()
	if !t.running() {
		return ErrNone
	}
	t.finish(false)
	return nil
}

// finish makes the result and saves it.
func (t *Test) finish(complete bool) {
	n := len(t.order)
	r := &Result{Schema: 1, Mode: t.mode, A: t.excerpts.NameA, B: t.excerpts.NameB, ApartLU: t.excerpts.ApartLU, Started: t.started, Ended: t.now(),
		Trials: n, Answered: len(t.answers), Complete: complete}
	if !complete {
		r.Text = fmt.Sprintf("stopped after %d of %d trials: not evaluated, for a test that may stop when it pleases proves nothing", len(t.answers), n)
	} else {
		t.evaluate(r)
	}
	t.result = r
	if path, err := t.save(r); err != nil {
		r.SaveFailed = err.Error()
	} else {
		r.SavedAs = path
	}
}

func (t *Test) evaluate(r *Result) {
	n := len(t.order)
	right, second := 0, 0
	last := t.started
	for i, answer := range t.answers {
		if answer == t.order[i] {
			right++
		}
		second += answer
		r.Log = append(r.Log, Trial{X: letter(t.order[i]), Answer: letter(answer), Seconds: t.asked[i].Sub(last).Seconds()})
		last = t.asked[i]
	}
	if t.mode == ABX {
		p := AtLeast(right, n, 0.5)
		r.Right, r.P, r.Needed, r.PassRate, r.Text = &right, &p, Needed(n), RateFor(n), abxWords(right, n)
		return
	}
	p := TwoSided(second, n)
	r.ChoseB, r.P, r.Text = &second, &p, preferenceWords(second, n, "A ("+r.A+")", "B ("+r.B+")")
}

func letter(i int) string { return [2]string{"A", "B"}[i] }

// save writes the result beside the excerpts under a name of its own; nothing is ever replaced.
func (t *Test) save(r *Result) (string, error) {
	stem := filepath.Join(t.excerpts.dir, "listen-"+r.Ended.Format("20060102-150405"))
	for i := 1; i < 100; i++ {
		path := stem + ".json"
		if i > 1 {
			path = fmt.Sprintf("%s-%d.json", stem, i)
		}
		err := atomicfile.Write(path, atomicfile.Options{}, func(w io.Writer) error {
			e := json.NewEncoder(w)
			e.SetIndent("", "  ")
			e.SetEscapeHTML(false)
			return e.Encode(r)
		})
		if !errors.Is(err, fs.ErrExist) {
			return path, err
		}
	}
	return "", fmt.Errorf("%s.json and its like exist already", stem)
}

// Playing tells which excerpt a sound of the page is: a and b, or x in a trial of abx, or first and second in one of
// preference. ok is false for what may not be heard now.
func (t *Test) Playing(name string, trial int) (which int, ok bool) {
	t.mu.Lock()
	defer t.mu.Unlock()
	blindNow := t.running() && t.mode == Preference
	switch name {
	case "a", "b":
		return int(name[0] - 'a'), !blindNow && trial == 0
	case "x":
		if t.running() && t.mode == ABX && trial == len(t.answers)+1 {
			return t.order[trial-1], true
		}
	case "first", "second":
		if blindNow && trial == len(t.answers)+1 {
			which := t.order[trial-1]
			if name == "second" {
				which = 1 - which
			}
			return which, true
		}
	}
	return 0, false
}

// State is all that the page is told.
type State struct {
	Phase  string   `json:"phase"` // idle, running, ended
	Mode   string   `json:"mode,omitempty"`
	Trials int      `json:"trials,omitempty"`
	Trial  int      `json:"trial,omitempty"` // the one that is asked, from 1
	Result *Result  `json:"result,omitempty"`
	Saved  string   `json:"saved,omitempty"`
	Failed string   `json:"save_failed,omitempty"`
	A      string   `json:"a"`
	B      string   `json:"b"`
	RateHz int      `json:"rate_hz"`
	Second float64  `json:"seconds"`
	Apart  float64  `json:"apart_lu"`
	Notes  []string `json:"notes"`
	Offer  []Offer  `json:"offer"`
}

// Offer is a number of trials and what it asks of a listener.
type Offer struct {
	Trials int     `json:"trials"`
	Needed int     `json:"needed"`
	Rate   float64 `json:"pass_rate"`
	Often  string  `json:"often"`
}

// State tells where the test stands; nothing in it depends on the order before the end.
func (t *Test) State() State {
	t.mu.Lock()
	defer t.mu.Unlock()
	e := t.excerpts
	s := State{Phase: "idle", A: e.NameA, B: e.NameB, RateHz: e.RateHz, Second: float64(e.Frames) / float64(e.RateHz), Apart: e.ApartLU, Notes: append([]string{}, e.Notes...)}
	for _, n := range Offered {
		s.Offer = append(s.Offer, Offer{n, Needed(n), RateFor(n), often(RateFor(n))})
	}
	switch {
	case t.running():
		s.Phase, s.Mode, s.Trials, s.Trial = "running", t.mode, len(t.order), len(t.answers)+1
	case t.result != nil:
		s.Phase, s.Mode, s.Trials, s.Result = "ended", t.mode, t.result.Trials, t.result
		s.Saved, s.Failed = filepath.Base(t.result.SavedAs), t.result.SaveFailed
		if t.result.SavedAs == "" {
			s.Saved = ""
		}
	}
	return s
}
