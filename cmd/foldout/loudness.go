package main

import (
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"foldout/features"
	"foldout/plan/levels"
	"foldout/plan/roles"
	"foldout/plan/sheet"
)

// sums measures the loudness of sums of tracks, each set of tracks once. What cannot be summed is warned of and left out.
func sums(cmd *cobra.Command, folder string, sets [][]string, offsets []sheet.Offset) []features.DB {
	all := sheet.Sheet{Pairs: []sheet.Pair{{}}}
	at := map[string]int{}
	for _, set := range sets {
		for _, file := range set {
			if _, ok := at[file]; !ok {
				at[file] = len(all.Pairs[0].Tracks)
				all.Pairs[0].Tracks = append(all.Pairs[0].Tracks, sheet.Placement{File: file})
			}
		}
	}
	roles.Halves(&all)
	var distinct [][]sheet.Placement
	index := map[string]int{}
	which := make([]int, len(sets))
	for n, set := range sets {
		files := slices.Sorted(slices.Values(set))
		key := strings.Join(files, "\x00")
		k, ok := index[key]
		if !ok {
			k = len(distinct)
			index[key] = k
			var tracks []sheet.Placement
			for _, file := range files {
				tracks = append(tracks, all.Pairs[0].Tracks[at[file]])
			}
			distinct = append(distinct, tracks)
		}
		which[n] = k
	}
	bar := newBar(cmd.ErrOrStderr(), "summing")
	var files []string
	for _, t := range all.Pairs[0].Tracks {
		files = append(files, t.File)
	}
	found, err := features.Remember(summed(cmd), "loudness", struct {
		Sets    [][]sheet.Placement
		Offsets []sheet.Offset
	}{distinct, offsets}, below(folder, files), func() ([]features.DB, error) {
		return levels.Loudness(cmd.Context(), distinct, levels.Options{Folder: folder, Offsets: offsets, Progress: bar.set})
	})
	bar.finish()
	out := make([]features.DB, len(sets))
	for n := range out {
		out[n] = sheet.NotMeasured
		if err == nil {
			out[n] = found[which[n]]
		}
	}
	if err != nil && cmd.Context().Err() == nil {
		warn(cmd, "the loudness of the sums is left out: %v", err)
	}
	return out
}

// sumSweep fills in the loudness of all pairs of a sweep.
func sumSweep(cmd *cobra.Command, folder string, s *sheet.Sweep, offsets []sheet.Offset) {
	var sets [][]string
	for _, p := range s.Points {
		sets = append(sets, p.Files...)
	}
	sets = append(sets, slices.Concat(s.Points[0].Files...))
	loud := sums(cmd, folder, sets, offsets)
	all, next := loud[len(loud)-1], 0
	for i := range s.Points {
		p := &s.Points[i]
		p.Figures.SetLoudness(loud[next:next+len(p.Files)], all)
		next += len(p.Files)
	}
}

// sumSheet fills in the loudness of the pairs of a sheet. Where its levels were measured before, they have it; pans and gains
// of the sheet, which levels heed, are left out of account here.
func sumSheet(cmd *cobra.Command, folder string, s *sheet.Sheet) {
	plain := !slices.ContainsFunc(s.Pairs, func(p sheet.Pair) bool {
		return slices.ContainsFunc(p.Tracks, func(t sheet.Placement) bool { return t.Place != sheet.Place{} })
	})
	if l, ok := features.Recall[*levels.Levels](summed(cmd), "levels", levelSettings{Sheet: s, Folder: folder}, tracksOf(s, folder)); ok && plain {
		loud := make([]features.DB, len(s.Pairs))
		for n := range loud {
			loud[n] = sheet.NotMeasured
		}
		for _, p := range l.Pairs {
			loud[p.Number-1] = p.IntegratedLUFS
		}
		s.Figures.Pairs = slices.Grow(s.Figures.Pairs, len(s.Pairs))[:len(s.Pairs)]
		s.Figures.SetLoudness(loud, l.Total.IntegratedLUFS)
		return
	}
	var sets [][]string
	var all []string
	for _, p := range s.Pairs {
		var files []string
		for _, t := range p.Tracks {
			files = append(files, t.File)
		}
		sets, all = append(sets, files), append(all, files...)
	}
	loud := sums(cmd, folder, append(sets, all), s.Settings.Offsets)
	s.Figures.Pairs = slices.Grow(s.Figures.Pairs, len(s.Pairs))[:len(s.Pairs)]
	s.Figures.SetLoudness(loud[:len(s.Pairs)], loud[len(s.Pairs)])
}
