// Package fold turns measured tracks and a number of pairs into a sheet: which tracks share a stereo pair, under which
// names, and why, in measured numbers.
//
// Prepare forms what is believed of each track (package roles reads names, package ears hears), finds ties, and lays the
// tracks out in a space of roles and measures. Session.Fold groups them by k-means under ties, splits and pins; Grow and
// Like start from an older sheet; Session.Sheet writes a grouping down; Sweep folds onto every number of pairs.
package fold

import (
	"fmt"
	"path/filepath"
	"slices"
	"sync"

	"gonum.org/v1/gonum/mat"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/company"
	"foldout/plan/habits"
	"foldout/plan/roles"
	"foldout/plan/sheet"
)

// Session is a folder of measured tracks, prepared for folding: what is believed of each track, which tracks are tied
// together, and where each lies in the space in which distances are taken.
type Session struct {
	Folder string
	Tracks []*features.Analysis // all tracks, in the order given
	Hints  []roles.Hint         // what the names say; empty hints with EarsOnly
	Heard  []Belief             // what the sound says
	Own    []Belief             // both, and what its company tells of a track that takes part
	Belief []Belief             // the same for placing it: with the help of its copies and its other side, or that of its source
	Kin    Kin                  // all that was found between the tracks
	Ties   []Tie                // why tracks belong together

	Live  []int            // indices of the tracks that take part; the others are set aside
	Aside []sheet.SetAside // in the order of the tracks
	Asked []sheet.Question

	company map[int]company.Settled  // of the live tracks
	sides   map[[2]int]company.Sides // by indices into Tracks: left and right that are told by company

	Space   *mat.Dense // Live x columns
	Columns []column
	weights []float64 // of Live
	units   [][]int   // of positions in Live: tracks tied together; singles are not listed
	apart   [][2]int  // of positions in Live
	pins    map[int]int
	opt     Options
	merits  func() *Merits // what the figures of all folds share, made at the first one
	habits  *habits.Space  // where the engineer's habits put the roles; nil: the trade's tree does
}

// Prepare reads names, hears roles, finds kin and lays out the space. Analyses need sketches. Options that name
// tracks which are not there, or contradict one another, are an *OptionError.
func Prepare(folder string, tracks []*features.Analysis, opt Options) (*Session, error) {
	s := &Session{Folder: folder, Tracks: tracks, opt: opt, pins: map[int]int{}}
	names := make([]string, len(tracks))
	for i, t := range tracks {
		names[i] = t.Profile.File
	}
	s.Hints = make([]roles.Hint, len(tracks))
	if !opt.EarsOnly {
		s.Hints = roles.Parse(names)
	}
	s.believe()
	if opt.Kin == nil {
		opt.Kin = FindKin(tracks)
	}
	s.Kin = opt.Kin
	if err := s.setAside(); err != nil {
		return nil, &OptionError{err}
	}
	if len(s.Live) == 0 {
		return nil, fmt.Errorf("%s: there is nothing to fold, every one of its tracks (%d) is silent or set aside", folder, len(tracks))
	}
	s.lookAround()
	s.findSides()
	s.stateCopies()
	s.tie(s.Kin)
	s.tieSides()
	if err := s.obey(); err != nil {
		return nil, &OptionError{err}
	}
	s.agree()
	if opt.Habits != nil {
		own, err := habits.NewSpace(opt.Habits)
		if err != nil {
			return nil, &OptionError{fmt.Errorf("habits of %s: %w", opt.Habits.Name, err)}
		}
		s.habits = own
	}
	if err := s.layOut(); err != nil {
		return nil, err
	}
	s.merits = sync.OnceValue(s.makeMerits)
	return s, nil
}

// Kin are the relations found between the tracks of a session, by their positions in its list of tracks.
type Kin []kinship.Relation

// FindKin compares all tracks with one another. The result serves every Prepare of the same tracks.
func FindKin(tracks []*features.Analysis) Kin {
	kin := Kin(features.Relate(tracks))
	if kin == nil {
		kin = Kin{}
	}
	return kin
}

// Title is the name of the session: that of its folder.
func (s *Session) Title() string { return filepath.Base(s.Folder) }

// believe forms each track's own belief.
func (s *Session) believe() {
	s.Heard = make([]Belief, len(s.Tracks))
	s.Belief = make([]Belief, len(s.Tracks))
	for i, t := range s.Tracks {
		s.Heard[i] = hear(t)
		s.Belief[i] = combine(s.Hints[i], s.Heard[i])
	}
	s.Own = slices.Clone(s.Belief)
}

// lookAround lets the live tracks settle what they are by the company they keep.
func (s *Session) lookAround() {
	s.company = map[int]company.Settled{}
	tracks := make([]company.Track, len(s.Live))
	heard, known := make([][]float64, len(s.Live)), make([][]float64, len(s.Live))
	for p, i := range s.Live {
		tracks[p], heard[p], known[p] = company.Of(s.Tracks[i]), s.Heard[i], s.Belief[i]
	}
	for p, settled := range company.Settle(tracks, heard, known) {
		i := s.Live[p]
		s.Belief[i] = combine(s.Hints[i], settled.Belief)
		s.Own[i] = s.Belief[i]
		s.company[i] = settled
	}
}

// agree lets copies and sides share one belief, and gives an effect return and a sum that of what they are made from.
// It serves their placing; what each is said to be stays its own.
func (s *Session) agree() {
	parent := map[int]int{}
	root := func(i int) int {
		for parent[i] != i {
			i = parent[i]
		}
		return i
	}
	for _, i := range s.Live {
		parent[i] = i
	}
	source := map[int]int{}
	for _, t := range s.Ties {
		if t.ByUser {
			continue
		}
		switch t.Relation.Kind {
		case kinship.Return, kinship.Sum:
			source[t.A] = t.B
		default:
			if a, b := root(t.A), root(t.B); a != b {
				parent[max(a, b)] = min(a, b)
			}
		}
	}
	members := map[int][]int{}
	for _, i := range s.Live {
		members[root(i)] = append(members[root(i)], i)
	}
	for _, unit := range members {
		if len(unit) < 2 {
			continue
		}
		var beliefs []Belief
		var weights []float64
		for _, i := range unit {
			beliefs = append(beliefs, s.Belief[i])
			w := 1 + 3*s.Hints[i].Known()
			if s.Hints[i].Kind == "return" || s.Hints[i].Kind == "parallel" {
				w *= 0.3
			}
			weights = append(weights, w)
		}
		shared := pool(beliefs, weights)
		for _, i := range unit {
			s.Belief[i] = shared
		}
	}
	for range s.Live { // a return of a return ends at its source
		changed := false
		for _, i := range s.Live {
			if of, ok := source[i]; ok && &s.Belief[i][0] != &s.Belief[of][0] {
				s.Belief[i], changed = s.Belief[of], true
			}
		}
		if !changed {
			break
		}
	}
}
