package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"foldout/features"
	"foldout/plan/fold"
	"foldout/plan/levels"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// summed is the cache for what is made of summed tracks; nil where none is wanted or there is none.
func summed(cmd *cobra.Command) *features.Cache {
	if f := cmd.Flags().Lookup("no-cache"); f != nil && f.Value.String() == "true" {
		return nil
	}
	cache, err := features.OpenCache("")
	if err != nil {
		return nil // measuring has said so, or there is nothing to keep
	}
	return cache
}

// below places files of a folder.
func below(folder string, files []string) []string {
	paths := make([]string, len(files))
	for i, f := range files {
		paths[i] = filepath.Join(folder, filepath.FromSlash(f))
	}
	return paths
}

// tracksOf are the paths of the tracks on a sheet.
func tracksOf(doc *sheet.Sheet, folder string) []string {
	var files []string
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			files = append(files, t.File)
		}
	}
	return below(folder, files)
}

// levelSettings is what the levels of a sheet depend on, its tracks apart.
type levelSettings struct {
	Sheet     *sheet.Sheet
	Rig       *rig.Rig
	Folder    string
	SameStart bool
}

// measureLevels is levels.Measure, remembered.
func measureLevels(cmd *cobra.Command, doc *sheet.Sheet, r *rig.Rig, opt levels.Options) (*levels.Levels, error) {
	folder := opt.Folder
	if folder == "" {
		folder = doc.Folder
	}
	return features.Remember(summed(cmd), "levels", levelSettings{doc, r, folder, opt.SameStart}, tracksOf(doc, folder), func() (*levels.Levels, error) {
		return levels.Measure(cmd.Context(), doc, r, opt)
	})
}

// sweepOf is the sweep over numbers of pairs, remembered. The loudness of its sums is not filled in.
func sweepOf(cmd *cobra.Command, folder string, tracks []*features.Analysis, opt fold.Options, low, high int) (*sheet.Sweep, error) {
	paths := make([]string, len(tracks))
	for i, t := range tracks {
		paths[i] = t.Path
	}
	settings := struct {
		Folder    string
		Options   fold.Options
		Low, High int
	}{folder, opt, low, high}
	return features.Remember(summed(cmd), "sweep", settings, paths, func() (*sheet.Sweep, error) {
		session, err := fold.Prepare(folder, tracks, opt)
		if err != nil {
			return nil, err
		}
		return session.Sweep(low, high)
	})
}
