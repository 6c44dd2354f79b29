package fold

import (
	"slices"

	"foldout/plan/aside"
	"foldout/plan/sheet"
)

// Keep makes the engineer's choices in an older sheet hold as far as the tracks are there and no choice of this run speaks
// against them: what takes part, by patterns, and, for the same song, by name; ties and splits too, if it is the same song. What
// holds is recorded in the new sheet, as if it had been asked for again.
func (o *Options) Keep(old *sheet.Sheet, sameSong bool) {
	o.kept = sheet.Settings{Exclude: slices.Clone(old.Settings.Exclude), Include: old.Settings.Include}
	if !sameSong {
		return
	}
	o.kept.Tie = old.Settings.Tie
	for _, spec := range old.Settings.Apart {
		if !together(old, sheet.Names(spec)) { // somebody may have moved them since
			o.kept.Apart = append(o.kept.Apart, spec)
		}
	}
	for _, a := range old.SetAside {
		if a.Kind == string(aside.Excluded) { // also what a table left out
			o.kept.Exclude = append(o.kept.Exclude, a.File)
		}
	}
}

// together tells whether two of some tracks share a pair of a sheet.
func together(doc *sheet.Sheet, names []string) bool {
	var files []string
	var pairs []int
	for n, p := range doc.Pairs {
		for _, t := range p.Tracks {
			files, pairs = append(files, t.File), append(pairs, n)
		}
	}
	find, used := sheet.NewFinder(files), map[int]bool{}
	for _, name := range names {
		i, err := find.One(name)
		if err != nil {
			continue
		}
		if used[pairs[i]] {
			return true
		}
		used[pairs[i]] = true
	}
	return false
}

// keepPatterns adds the patterns of an older sheet that name files here to those of this run. An older word that a file is a track
// gives way where this run excludes it.
func (s *Session) keepPatterns() error {
	excluded, err := s.matching(s.opt.Exclude, "exclude")
	if err != nil {
		return err
	}
	for _, pattern := range s.opt.kept.Include {
		if slices.Contains(s.opt.Include, pattern) {
			continue
		}
		files, err := s.matching([]string{pattern}, "include")
		against := false
		for i := range files {
			against = against || excluded[i] != ""
		}
		if err == nil && !against {
			s.opt.Include = append(slices.Clone(s.opt.Include), pattern)
		}
	}
	for _, pattern := range s.opt.kept.Exclude {
		files, err := s.matching([]string{pattern}, "exclude")
		news := false
		for i := range files {
			news = news || excluded[i] == ""
			excluded[i] = pattern
		}
		if err == nil && news {
			s.opt.Exclude = append(slices.Clone(s.opt.Exclude), pattern)
		}
	}
	return nil
}

// keepTies adds the ties and splits of an older sheet whose tracks all take part to those of this run, which go first.
func (s *Session) keepTies() {
	apart := s.pairsOf(s.opt.Apart)
	for _, spec := range s.opt.kept.Tie {
		ids, err := s.named(spec)
		if err == nil && !slices.Contains(s.opt.Tie, spec) && !overlap(apart, couples(ids)) {
			s.opt.Tie = append(slices.Clone(s.opt.Tie), spec)
		}
	}
	tied := s.pairsOf(s.opt.Tie)
	for _, spec := range s.opt.kept.Apart {
		ids, err := s.named(spec)
		if err == nil && !slices.Contains(s.opt.Apart, spec) && !overlap(tied, couples(ids)) {
			s.opt.Apart = append(slices.Clone(s.opt.Apart), spec)
		}
	}
}

// pairsOf are all couples of tracks that lists of names hold; lists that cannot be read hold none.
func (s *Session) pairsOf(lists []string) (all [][2]int) {
	for _, list := range lists {
		if ids, err := s.named(list); err == nil {
			all = append(all, couples(ids)...)
		}
	}
	return all
}

func couples(ids []int) (all [][2]int) {
	for k, a := range ids {
		for _, b := range ids[k+1:] {
			all = append(all, [2]int{min(a, b), max(a, b)})
		}
	}
	return all
}

func overlap(a, b [][2]int) bool {
	return slices.ContainsFunc(a, func(x [2]int) bool { return slices.Contains(b, x) })
}
