package fold

import (
	"errors"
	"fmt"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"foldout/cluster"
	"foldout/plan/sheet"
)

// Sweep folds the session onto every number of pairs from low to high and compares. Numbers for which the user's choices
// leave no fold are left out. Where a fold is no tighter than that onto fewer pairs, the latter stands and a pair is free, so
// the spread never rises. It is an error if the range is empty or reaches beyond sheet.MaxSweep pairs.
func (s *Session) Sweep(low, high int) (*sheet.Sweep, error) {
	if low < 1 || high < low || high > sheet.MaxSweep {
		return nil, fmt.Errorf("pairs %d..%d: want a range within 1..%d", low, high, sheet.MaxSweep)
	}
	if len(s.Live) == 0 {
		return nil, fmt.Errorf("%s: every track is silent; there is nothing to fold", s.Folder)
	}
	w := &sheet.Sweep{Schema: sheet.SchemaVersion, Title: s.Title(), Folder: s.Folder, Tracks: len(s.Live), Families: s.families()}
	merits := s.Merits()
	var folds [][]int
	var refused error
	found := s.foldsOnto(low, high)
	for k := low; k <= high; k++ {
		labels, err := found[k-low].labels, found[k-low].err
		if choice := (*OptionError)(nil); errors.As(err, &choice) {
			refused = err
			continue
		}
		if err == nil && len(folds) > 0 {
			labels, err = s.tighter(labels, folds[len(folds)-1])
		}
		if err != nil {
			return nil, err
		}
		p, err := s.point(merits, labels, k)
		if err != nil {
			return nil, err
		}
		folds, w.Points = append(folds, labels), append(w.Points, p)
	}
	if len(w.Points) == 0 {
		return nil, refused
	}
	for i := range w.Points {
		w.Points[i].Buys = buys(w, i)
	}
	if err := natural(w, s, high); err != nil {
		return nil, err
	}
	s.advise(w, folds)
	return w, nil
}

type found struct {
	labels []int
	err    error
}

// foldsOnto folds onto every number of pairs from low to high, on all cores.
func (s *Session) foldsOnto(low, high int) []found {
	out := make([]found, high-low+1)
	var group errgroup.Group
	group.SetLimit(runtime.GOMAXPROCS(0))
	for n := range out {
		group.Go(func() error {
			out[n].labels, out[n].err = s.FoldLabels(low + n)
			return nil
		})
	}
	group.Wait() //nolint:errcheck // every fold keeps its own error
	return out
}

// tighter is the fold with the smaller spread, the second if there is no difference to speak of.
func (s *Session) tighter(a, b []int) ([]int, error) {
	spreadA, err := s.Spread(a)
	if err != nil {
		return nil, err
	}
	spreadB, err := s.Spread(b)
	if spreadA < spreadB-1e-9 {
		return a, err
	}
	return b, err
}

// point describes one fold of a sweep.
func (s *Session) point(merits *Merits, labels []int, k int) (p sheet.SweepPoint, err error) {
	p = sheet.SweepPoint{Pairs: k, Files: make([][]string, k), Mixed: sheet.Round(s.mixed(labels), 3)}
	if p.Figures, err = merits.Figures(labels, k); err != nil {
		return p, err
	}
	p.Used = p.Figures.PairsUsed
	one, err := s.Spread(make([]int, len(labels)))
	if err != nil {
		return p, err
	}
	if one > 0 {
		p.SpreadPC = sheet.Round(p.Figures.WithinSpread/one, 3)
	}
	for l, name := range s.PairNames(labels, k) {
		if p.Figures.Pairs[l].Tracks > 0 {
			p.Names = append(p.Names, name)
		}
	}
	for q := range p.Files {
		p.Files[q] = []string{}
	}
	for t, l := range labels {
		p.Files[l] = append(p.Files[l], s.Tracks[s.Live[t]].Profile.File)
	}
	return p, nil
}

// natural finds the number of groups the tracks fall into by themselves.
func natural(w *sheet.Sweep, s *Session, high int) error {
	if len(s.Live) < 3 || w.Points[0].Figures.WithinSpread == 0 && w.Points[0].Pairs == 1 {
		w.Groups, w.GroupsRun, w.GroupsOK = 1, 1, true
		return nil
	}
	points, err := cluster.Gap(s.Space, high+1, cluster.GapOptions{Reference: cluster.UniformPrincipal, References: 20, Restarts: 4, Seed: s.opt.Seed})
	if err != nil {
		return err
	}
	w.Groups, w.GroupsOK = cluster.SelectK(points)
	for _, p := range points {
		w.GroupsRun = max(w.GroupsRun, p.K)
		for i := range w.Points {
			if w.Points[i].Pairs == p.K {
				w.Points[i].Gap = sheet.Round(p.Gap, 3)
			}
		}
	}
	return nil
}

// buys says in words what point i brings over the one before.
func buys(w *sheet.Sweep, i int) string {
	p := &w.Points[i]
	if i == 0 {
		return strings.Join(p.Names, ", ")
	}
	before := &w.Points[i-1]
	if p.Used <= before.Used {
		return "nothing: the pair would stay free"
	}
	var fresh, gone []string
	for _, n := range p.Names {
		if !slices.Contains(before.Names, n) {
			fresh = append(fresh, n)
		}
	}
	for _, n := range before.Names {
		if !slices.Contains(p.Names, n) {
			gone = append(gone, n)
		}
	}
	if len(gone) == 0 || len(fresh) == 0 {
		return "another pair for " + strings.Join(append(fresh, gone...), ", ")
	}
	return strings.Join(gone, ", ") + " -> " + strings.Join(fresh, ", ")
}
