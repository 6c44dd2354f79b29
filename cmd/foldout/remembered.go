package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"foldout/features"
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

// measureLevels is levels.Measure, remembered.
func measureLevels(cmd *cobra.Command, doc *sheet.Sheet, r *rig.Rig, opt levels.Options) (*levels.Levels, error) {
	folder := opt.Folder
	if folder == "" {
		folder = doc.Folder
	}
	var files []string
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			files = append(files, t.File)
		}
	}
	settings := struct {
		Sheet     *sheet.Sheet
		Rig       *rig.Rig
		Folder    string
		SameStart bool
	}{doc, r, folder, opt.SameStart}
	return features.Remember(summed(cmd), "levels", settings, below(folder, files), func() (*levels.Levels, error) {
		return levels.Measure(cmd.Context(), doc, r, opt)
	})
}
