package workbench

import (
	"cmp"
	"context"
	"fmt"
	"os"
	"path/filepath"
	"slices"

	"foldout/features"
	"foldout/plan/sheet"
)

// lineUp measures a folder, finds the files that begin late (features.FindLate) besides those of which known says where they
// begin, says so, and measures again where there are any. It returns the starts of all.
func (b *Bench) lineUp(ctx context.Context, folder string, known []sheet.Offset, measure func([]sheet.Offset) (*measured, error)) ([]sheet.Offset, *measured, error) {
	found, err := measure(known)
	if err != nil {
		return nil, nil, err
	}
	starts := slices.Clone(known)
	for _, l := range features.FindLate(ctx, found.tracks, func(path string) bool {
		return slices.ContainsFunc(known, func(o sheet.Offset) bool { return pathOf(folder, o) == path })
	}) {
		starts = append(starts, sheet.Offset{File: found.tracks[l.Track].Profile.File, Start: l.Start})
		b.events.Send("note", map[string]string{"text": l.Sentence(found.tracks)})
	}
	if len(starts) == len(known) {
		return known, found, nil
	}
	slices.SortFunc(starts, func(a, b sheet.Offset) int { return cmp.Compare(a.File, b.File) })
	found, err = measure(starts)
	return starts, found, err
}

// pathOf is the file of which a start speaks.
func pathOf(folder string, o sheet.Offset) string {
	return filepath.Join(folder, filepath.FromSlash(o.File))
}

// startsThatHold are the starts of the present step, but for those of files that have another size since: whoever exports a
// late file anew exports it whole, as a rule, and what was said of the old one would shift it.
func (s *session) startsThatHold() []sheet.Offset {
	s.mu.Lock()
	defer s.mu.Unlock()
	var held []sheet.Offset
	for _, o := range s.choice().Starts {
		path := pathOf(s.folder, o)
		if info, err := os.Stat(path); err == nil && info.Size() != s.stamps[path].size {
			s.b.events.Send("note", map[string]string{"text": fmt.Sprintf("%s was exported anew with another length: that it begins late holds no longer", o.File)})
			continue
		}
		held = append(held, o)
	}
	return held
}
