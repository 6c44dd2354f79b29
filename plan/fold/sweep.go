package fold

import (
	"fmt"
	"slices"
	"strings"

	"foldout/cluster"
	"foldout/plan/sheet"
)

const (
	// worthSpread is the part of the one-pair spread that a further pair has to take away to be worth its outputs (chosen).
	worthSpread = 0.04
)

// Sweep folds the session onto every number of pairs from low to high and compares. It is an error if the range is empty
// or reaches beyond sheet.MaxSweep pairs.
func (s *Session) Sweep(low, high int) (*sheet.Sweep, error) {
	if low < 1 || high < low || high > sheet.MaxSweep {
		return nil, fmt.Errorf("pairs %d..%d: want a range within 1..%d", low, high, sheet.MaxSweep)
	}
	if len(s.Live) == 0 {
		return nil, fmt.Errorf("%s: every track is silent; there is nothing to fold", s.Folder)
	}
	w := &sheet.Sweep{Schema: sheet.SchemaVersion, Title: s.Title(), Folder: s.Folder, Tracks: len(s.Live)}
	one, err := s.Spread(make([]int, len(s.Live)))
	if err != nil {
		return nil, err
	}
	merits := s.Merits()
	for k := low; k <= high; k++ {
		labels, err := s.FoldLabels(k)
		if err != nil {
			return nil, err
		}
		p := sheet.SweepPoint{Pairs: k}
		if p.Figures, err = merits.Figures(labels, k); err != nil {
			return nil, err
		}
		p.Used = p.Figures.PairsUsed
		if one > 0 {
			p.SpreadPC = sheet.Round(p.Figures.WithinSpread/one, 3)
		}
		for l, name := range s.PairNames(labels, k) {
			if p.Figures.Pairs[l].Tracks > 0 {
				p.Names = append(p.Names, name)
			}
		}
		w.Points = append(w.Points, p)
	}
	for i := range w.Points {
		w.Points[i].Buys = buys(w, i)
	}
	if err := natural(w, s, high); err != nil {
		return nil, err
	}
	recommend(w)
	return w, nil
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

// recommend picks the largest number of pairs up to which every further pair takes away a worthwhile part of the spread.
func recommend(w *sheet.Sweep) {
	best := w.Points[0]
	gain := func(p sheet.SweepPoint) float64 { return (best.SpreadPC - p.SpreadPC) / float64(p.Pairs-best.Pairs) }
	for i, p := range w.Points[1:] {
		if p.Used < p.Pairs { // it buys nothing, but the next may be used
			continue
		}
		// a step may disappoint if the one after makes up for it
		if gain(p) < worthSpread && (i+2 >= len(w.Points) || gain(w.Points[i+2]) < worthSpread) {
			break
		}
		best = p
	}
	w.Recommend = best.Pairs
	last := w.Points[len(w.Points)-1]
	text := fmt.Sprintf("%s for this session. With them %.0f %% of the difference between tracks lies between pairs, %.0f %% is left within",
		sheet.Plural(best.Used, "pair is enough", "pairs are enough"), 100*(1-best.SpreadPC), 100*best.SpreadPC)
	if best.Pairs == last.Pairs {
		text += "; every pair tried was worth its outputs, so more than tried may be too"
	} else if next := at(w, best.Pairs+1); next != nil {
		if next.Used < next.Pairs {
			text += "; one more would stay free"
		} else {
			text += fmt.Sprintf("; one more takes away only %.1f %% more (%s)", 100*(best.SpreadPC-next.SpreadPC), next.Buys)
		}
	}
	if best.Pairs != w.Points[0].Pairs {
		text += fmt.Sprintf(". The loudest pair then carries %.1f dB less than the whole mix, which is the headroom won over one pair", -best.Figures.LoudestPairDB)
	}
	w.Advice = text + "."
	if w.GroupsOK && w.Groups > 1 {
		w.Advice += fmt.Sprintf(" By themselves the tracks fall into %d groups (gap statistic).", w.Groups)
	} else if !w.GroupsOK {
		w.Advice += fmt.Sprintf(" The gap statistic finds no natural number of groups up to %d.", w.GroupsRun)
	}
}

func at(w *sheet.Sweep, pairs int) *sheet.SweepPoint {
	for i := range w.Points {
		if w.Points[i].Pairs == pairs {
			return &w.Points[i]
		}
	}
	return nil
}
