// Package check judges a grouping made by hand: which tracks are out of place among the others of their pair and where
// they belong, which pairs are crowded or idle, what has been torn apart, and what is right.
package check

import (
	"cmp"
	"fmt"
	"path/filepath"
	"slices"

	"foldout/plan/fold"
	"foldout/plan/homes"
	"foldout/plan/sheet"
)

// Judge judges a manual sheet for the session: which tracks are out of place among the others of their pair and where
// they belong, which pairs are crowded or idle, what has been torn apart, and what is right. Every pair is taken for
// what most of its tracks make it; our own fold is computed for comparison only. The name is shown in the report.
func Judge(s *fold.Session, m *sheet.Manual, name string) (*sheet.Judgement, error) {
	placed := s.Place(m)
	r := &sheet.Judgement{Schema: sheet.SchemaVersion, Title: s.Title(), Folder: s.Folder, Sheet: filepath.Base(name), Missing: placed.Missing,
		Unknown: placed.Unknown, Notes: placed.Notes, Misfits: []sheet.Misfit{}, Doubtful: []sheet.Misfit{}, Parted: []sheet.Parted{}, Praise: []string{}, SetAside: []sheet.SetAside{}}
	if len(s.Live) == len(placed.Missing) {
		return nil, fmt.Errorf("the sheet places none of the tracks (%d) of %s; its track column must hold their file names, such as %s",
			len(s.Live), s.Folder, exampleNames(s))
	}
	r.SetAside = append(r.SetAside, s.Aside...)
	c := &checking{Session: s, placed: placed, verdicts: s.Astray(placed.Labels, placed.Pairs)}
	settled := slices.Clone(placed.Labels)
	for p, v := range c.verdicts {
		if v.Stray >= fold.MisfitFrom {
			settled[p] = -1
		}
	}
	for q := range placed.Pairs { // a pair that holds nothing but misfits is named by them
		if !slices.Contains(settled, q) {
			for p, l := range placed.Labels {
				if l == q {
					settled[p] = q
				}
			}
		}
	}
	c.names = manualNames(s, m, settled)
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
	*fold.Session
	placed   *fold.Placed
	names    []string
	verdicts []homes.Verdict
}

// misfits fills in the tracks out of place and those worth a look.
func (c *checking) misfits(r *sheet.Judgement) error {
	before, err := c.Spread(c.placed.Labels)
	if err != nil {
		return err
	}
	for p, v := range c.verdicts {
		on := c.placed.Labels[p]
		if on < 0 || v.Stray < fold.DoubtfulFrom {
			continue
		}
		to := on
		for q := range v.Belong {
			if q != on && (to == on || v.Belong[q] > v.Belong[to]) {
				to = q
			}
		}
		if q := c.kinAt(p, on); q >= 0 {
			to = q // what carries its performance shows the way
		}
		if to == on {
			continue
		}
		moved := slices.Clone(c.placed.Labels)
		moved[p] = to
		after, err := c.Spread(moved)
		if err != nil {
			return err
		}
		role, _ := c.Belief[c.Live[p]].Best()
		m := sheet.Misfit{
			File: c.Tracks[c.Live[p]].Profile.File, On: on + 1, OnName: c.names[on], Suggested: to + 1, SuggestedName: c.names[to],
			Certainty: sheet.Round(v.Stray, 2), Role: role, Gain: sheet.Round(before-after, 4), Reasons: c.misfitReasons(p, on, to),
		}
		if v.Stray >= fold.MisfitFrom {
			r.Misfits = append(r.Misfits, m)
		} else {
			r.Doubtful = append(r.Doubtful, m)
		}
	}
	for _, list := range [][]sheet.Misfit{r.Misfits, r.Doubtful} {
		slices.SortStableFunc(list, func(a, b sheet.Misfit) int {
			return cmp.Or(cmp.Compare(b.Certainty, a.Certainty), cmp.Compare(b.Gain, a.Gain), cmp.Compare(a.File, b.File))
		})
	}
	return nil
}

// kinAt is the pair that holds most of what live track p is tied to, as far as it is at home there; -1 for none, or if
// some of it stands on pair on.
func (c *checking) kinAt(p, on int) int {
	count := make([]int, c.placed.Pairs)
	for _, t := range c.Ties {
		i := c.Live[p]
		if t.A != i && t.B != i {
			continue
		}
		o := slices.Index(c.Live, t.A+t.B-i)
		if q := c.placed.Labels[o]; q >= 0 && c.verdicts[o].Stray < fold.MisfitFrom {
			count[q]++
		}
	}
	if best := slices.Index(count, slices.Max(count)); count[best] > 0 && count[on] == 0 {
		return best
	}
	return -1
}

// corrected are the labels with every misfit moved.
func (c *checking) corrected(r *sheet.Judgement) []int {
	at := map[string]int{}
	for _, m := range r.Misfits {
		at[m.File] = m.Suggested - 1
	}
	out := slices.Clone(c.placed.Labels)
	for p, i := range c.Live {
		if to, ok := at[c.Tracks[i].Profile.File]; ok {
			out[p] = to
		}
	}
	return out
}

// compare computes the figures of the sheet as it is, corrected, and beside our own fold.
func (c *checking) compare(r *sheet.Judgement) error {
	var err error
	if r.Manual, err = c.FiguresOf(c.placed.Labels, c.placed.Pairs); err != nil {
		return err
	}
	if r.Corrected, err = c.FiguresOf(c.corrected(r), c.placed.Pairs); err != nil {
		return err
	}
	labels, err := c.FoldLabels(c.placed.Pairs)
	if err != nil {
		return err
	}
	r.Suggested, err = c.FiguresOf(labels, c.placed.Pairs)
	return err
}
