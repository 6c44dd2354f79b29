package main

import (
	"path/filepath"

	"github.com/spf13/cobra"

	"foldout/plan/fold"
	"foldout/plan/roles"
	"foldout/plan/sheet"
)

// older is the sheet that a new one starts from, if any.
type older struct {
	grow, like string
	sheet      *sheet.Sheet
}

// load reads the older sheet. With --like its pairs are as many as there are to be.
func (o *older) load(cmd *cobra.Command, opt *fold.Options) (err error) {
	switch {
	case o.grow != "" && o.like != "":
		return usagef("--grow and --like exclude one another")
	case o.grow == "" && o.like == "":
		return nil
	}
	if o.sheet, err = loadSheet(o.grow + o.like); err != nil {
		return err
	}
	opt.Habits = o.sheet.Settings.Habits
	opt.Keep(o.sheet, o.grow != "")
	if o.like != "" {
		if cmd.Flags().Changed("pairs") && opt.Pairs != len(o.sheet.Pairs) {
			return usagef("--pairs %d: with --like there are as many pairs as in that sheet, %d", opt.Pairs, len(o.sheet.Pairs))
		}
		opt.Pairs = len(o.sheet.Pairs)
		for _, p := range o.sheet.Pairs {
			opt.Outputs, opt.Devices = append(opt.Outputs, p.Outputs), append(opt.Devices, p.Device)
		}
	}
	return nil
}

// suggest folds the session, anew or from the older sheet.
func (o *older) suggest(s *fold.Session, pairs int) (*sheet.Sheet, error) {
	var g *fold.Grouping
	var err error
	switch {
	case o.grow != "":
		g, err = s.Grow(o.sheet, pairs)
	case o.like != "":
		g, err = s.Like(o.sheet)
	default:
		return s.Suggest()
	}
	if err != nil {
		return nil, err
	}
	sheet, err := s.Sheet(g)
	if err != nil {
		return nil, err
	}
	fold.KeepNames(sheet, o.sheet)
	if o.grow != "" {
		sheet.Settings.Grow, sheet.Notes = filepath.Base(o.grow), o.sheet.Notes // the same song in the same studio
	}
	if o.like != "" {
		sheet.Settings.Like = filepath.Base(o.like)
	}
	return sheet, nil
}

// loadSheet reads a saved sheet. What sheets of schema 1 leave unsaid is filled in.
func loadSheet(path string) (*sheet.Sheet, error) {
	s, err := sheet.Load(path)
	if err == nil && s.Schema < sheet.SchemaVersion {
		roles.Halves(s)
		s.Schema = sheet.SchemaVersion
	}
	return s, err
}
