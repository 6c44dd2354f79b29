package plan

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"
)

// Report is what Check says of a manual sheet. Pair numbers count from 1.
type Report struct {
	Schema    int           `json:"schema"`
	Title     string        `json:"title"`
	Folder    string        `json:"folder"`
	Sheet     string        `json:"sheet"` // file name of the manual sheet
	Pairs     []PairVerdict `json:"pairs"`
	Misfits   []Misfit      `json:"misfits"`   // surest first
	Doubtful  []Misfit      `json:"doubtful"`  // worth a look, most doubtful first
	Parted    []Parted      `json:"parted"`    // copies, sides and returns away from what they come from
	Praise    []string      `json:"praise"`    // what is right
	Missing   []string      `json:"missing"`   // tracks of the folder that the sheet does not place
	Unknown   []string      `json:"unknown"`   // tracks of the sheet that are not in the folder
	SetAside  []SetAside    `json:"set_aside"` // tracks that are judged nowhere
	Notes     []string      `json:"notes"`
	Manual    Figures       `json:"manual_figures"`
	Corrected Figures       `json:"corrected_figures"` // of the manual sheet with every misfit moved
	Suggested Figures       `json:"suggested_figures"` // of our own fold onto as many pairs
}

// Misfit is a track that does not belong on the pair it is on.
type Misfit struct {
	File          string   `json:"file"`
	On            int      `json:"on"`
	OnName        string   `json:"on_name"`
	Suggested     int      `json:"suggested"`
	SuggestedName string   `json:"suggested_name"`
	Certainty     float64  `json:"certainty"` // 0..1: probability that the track is out of place
	Role          string   `json:"role"`
	Reasons       []Reason `json:"reasons"`
	Gain          float64  `json:"gain"` // by how much the move alone lowers the within-pair spread; positive is better
}

// PairVerdict is what Check says of one pair.
type PairVerdict struct {
	Name    string `json:"name"`
	Tracks  int    `json:"tracks"`
	Holds   string `json:"holds"`   // what its tracks are, most numerous kind first
	Verdict string `json:"verdict"` // "fine", "crowded", "idle", "mixed"
	Text    string `json:"text"`
}

// Parted are two tracks of one performance on different pairs.
type Parted struct {
	File   string `json:"file"`
	On     int    `json:"on"`
	Source string `json:"source"`
	Home   int    `json:"home"`
	Text   string `json:"text"`
}

// A track is called a misfit from this probability on, and worth a look from the lower one on. Chosen by experiment on
// sheets with planted mistakes (testdata/check).
const (
	misfitFrom   = 0.4
	doubtfulFrom = 0.2
)

// Check judges a manual sheet for the session: which tracks are out of place among the others of their pair and where
// they belong, which pairs are crowded or idle, what has been torn apart, and what is right. Every pair is taken for
// what most of its tracks make it; our own fold is computed for comparison only. The name is shown in the report.
func (s *Session) Check(m *Manual, name string) (*Report, error) {
	placed := s.placeManual(m)
	r := &Report{Schema: SchemaVersion, Title: s.Title(), Folder: s.Folder, Sheet: filepath.Base(name), Missing: placed.missing,
		Unknown: placed.unknown, Notes: placed.notes, Misfits: []Misfit{}, Doubtful: []Misfit{}, Parted: []Parted{}, Praise: []string{}, SetAside: []SetAside{}}
	if len(s.Live) == len(placed.missing) {
		return nil, fmt.Errorf("the sheet places none of the %d tracks of %s; its track column must hold their file names, such as %s",
			len(s.Live), s.Folder, s.exampleNames())
	}
	for i := range s.Tracks {
		if why, ok := s.Aside[i]; ok {
			r.SetAside = append(r.SetAside, SetAside{s.Tracks[i].Profile.File, why})
		}
	}
	c := &checking{Session: s, placed: placed, verdicts: s.astray(placed.labels, placed.pairs)}
	settled := slices.Clone(placed.labels)
	for p, v := range c.verdicts {
		if v.stray >= misfitFrom {
			settled[p] = -1
		}
	}
	for q := range placed.pairs { // a pair that holds nothing but misfits is named by them
		if !slices.Contains(settled, q) {
			for p, l := range placed.labels {
				if l == q {
					settled[p] = q
				}
			}
		}
	}
	c.names = s.manualNames(m, settled)
	if err := c.misfits(r); err != nil {
		return nil, err
	}
	c.parted(r)
	c.pairVerdicts(r)
	c.praise(r)
	return r, c.compare(r)
}

// checking is one run of Check.
type checking struct {
	*Session
	placed   *placed
	names    []string
	verdicts []verdict
}

// misfits fills in the tracks out of place and those worth a look.
func (c *checking) misfits(r *Report) error {
	before, err := c.spread(c.placed.labels)
	if err != nil {
		return err
	}
	for p, v := range c.verdicts {
		on := c.placed.labels[p]
		if on < 0 || v.stray < doubtfulFrom {
			continue
		}
		to := on
		for q := range v.belong {
			if q != on && (to == on || v.belong[q] > v.belong[to]) {
				to = q
			}
		}
		if to == on {
			continue
		}
		moved := slices.Clone(c.placed.labels)
		moved[p] = to
		after, err := c.spread(moved)
		if err != nil {
			return err
		}
		role, _ := c.Belief[c.Live[p]].Best()
		m := Misfit{
			File: c.Tracks[c.Live[p]].Profile.File, On: on + 1, OnName: c.names[on], Suggested: to + 1, SuggestedName: c.names[to],
			Certainty: round(v.stray, 2), Role: role, Gain: round(before-after, 4), Reasons: c.misfitReasons(p, on, to),
		}
		if v.stray >= misfitFrom {
			r.Misfits = append(r.Misfits, m)
		} else {
			r.Doubtful = append(r.Doubtful, m)
		}
	}
	for _, list := range [][]Misfit{r.Misfits, r.Doubtful} {
		slices.SortStableFunc(list, func(a, b Misfit) int {
			return cmp.Or(cmp.Compare(b.Certainty, a.Certainty), cmp.Compare(b.Gain, a.Gain), cmp.Compare(a.File, b.File))
		})
	}
	return nil
}

// corrected are the labels with every misfit moved.
func (c *checking) corrected(r *Report) []int {
	at := map[string]int{}
	for _, m := range r.Misfits {
		at[m.File] = m.Suggested - 1
	}
	out := slices.Clone(c.placed.labels)
	for p, i := range c.Live {
		if to, ok := at[c.Tracks[i].Profile.File]; ok {
			out[p] = to
		}
	}
	return out
}

// compare computes the figures of the sheet as it is, corrected, and beside our own fold.
func (c *checking) compare(r *Report) error {
	var err error
	if r.Manual, err = c.FiguresOf(c.placed.labels, c.placed.pairs); err != nil {
		return err
	}
	if r.Corrected, err = c.FiguresOf(c.corrected(r), c.placed.pairs); err != nil {
		return err
	}
	labels, err := c.foldLabels(c.placed.pairs)
	if err != nil {
		return err
	}
	r.Suggested, err = c.FiguresOf(labels, c.placed.pairs)
	return err
}
