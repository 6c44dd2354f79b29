package main

import (
	"cmp"
	"maps"
	"path/filepath"
	"slices"

	"github.com/spf13/cobra"

	"foldout/features"
	"foldout/plan/sheet"
)

// lineUp finds the files that begin late without a time stamp, says so, measures them again from their start, and keeps
// the starts for the sheet. What a table or an earlier sheet says of a file holds.
func (m *measuring) lineUp(cmd *cobra.Command, folder string, paths []string, given map[string]int64, results []features.Result, opt features.Options) ([]features.Result, error) {
	var tracks []*features.Analysis
	at := map[string]int{} // in results
	for i, r := range results {
		if r.Err == nil {
			tracks = append(tracks, r.Analysis)
			at[r.Analysis.Path] = i
		}
	}
	late := features.FindLate(cmd.Context(), tracks, func(path string) bool { _, told := given[path]; return told })
	if len(late) == 0 {
		return results, cmd.Context().Err()
	}
	starts := maps.Clone(given)
	for _, l := range late {
		path := tracks[l.Track].Path
		below, err := filepath.Rel(folder, path)
		if err != nil {
			return nil, err
		}
		starts[path] = l.Start
		m.offsets = append(m.offsets, sheet.Offset{File: filepath.ToSlash(below), Start: l.Start})
		warn(cmd, "%s", l.Sentence(tracks))
	}
	slices.SortStableFunc(m.offsets, func(a, b sheet.Offset) int { return cmp.Compare(a.File, b.File) })
	before := opt.Starts
	opt.Starts = features.Starts(paths, starts)
	var moved []string
	for _, path := range paths {
		if _, good := at[path]; good && opt.Starts[path] != before[path] {
			moved = append(moved, path)
		}
	}
	again, err := measureAll(cmd, moved, opt)
	if err != nil {
		return nil, err
	}
	results = slices.Clone(results)
	for n, r := range again {
		results[at[moved[n]]] = r
	}
	return results, nil
}
