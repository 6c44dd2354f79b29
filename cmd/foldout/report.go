package main

import (
	"errors"
	"fmt"

	"github.com/spf13/cobra"

	"foldout/features"
	"foldout/plan/fold"
	"foldout/plan/levels"
	"foldout/plan/patch"
	"foldout/plan/report"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// The page tries all numbers of pairs up to a few more than the sheet has.
const (
	fewestTried = 8
	beyond      = 4
)

func newReport() *cobra.Command {
	var (
		m                measuring
		html             htmlPage
		rigFile, folder  string
		force, sheetOnly bool
	)
	cmd := &cobra.Command{
		Use:   "report SHEET [--rig RIG] --html FILE",
		Short: "One page with everything: pairs, map, levels, patch, sweep",
		Long: `report gathers all that foldout knows of a saved sheet on one page: which tracks go where, why and how sure, how loud
every pair arrives, how it is plugged, and what more pairs would buy. The page is a single file without scripts that
opens in any browser, offline too, and prints on A4 or US Letter.

Levels and the comparison of pair numbers need the tracks; --sheet-only leaves both out.`,
		Example: `  foldout suggest "Song stems" --pairs 4 --format json --out song.sheet.json
  foldout report song.sheet.json --rig studio.toml --html song.html`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if html.file == "" {
				return usagef("where to? give --html FILE")
			}
			sheet, err := loadSheet(list[0])
			if err != nil {
				return err
			}
			r, err := loadRig(cmd, rigFile)
			if err != nil {
				return err
			}
			page := report.Page{Sheet: sheet}
			if page.Patch, err = patch.Make(sheet, r); err != nil {
				return fmt.Errorf("%s: %w", list[0], err)
			}
			if folder == "" {
				folder = sheet.Folder
			}
			var partial error
			if !sheetOnly {
				partial, err = fromTracks(cmd, &m, &page, r, folder)
				if err != nil {
					return fmt.Errorf("%w; --folder says where the tracks are, --sheet-only does without them", err)
				}
			}
			if err := html.write(cmd, force, page); err != nil {
				return err
			}
			return partial
		},
	}
	f := cmd.Flags()
	m.register(f)
	html.register(f)
	f.StringVar(&rigFile, "rig", "", "rig `FILE`, as foldout rig new writes it")
	f.StringVar(&folder, "folder", "", "`FOLDER` where the tracks are, if they have moved since the sheet was made")
	f.BoolVar(&sheetOnly, "sheet-only", false, "leave out what needs the tracks: levels, and what more pairs would buy")
	f.BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

// fromTracks adds to the page what only the tracks can tell. partial says that some of them could not be read.
func fromTracks(cmd *cobra.Command, m *measuring, page *report.Page, r *rig.Rig, folder string) (partial, err error) {
	bar := newBar(cmd.ErrOrStderr(), "summing")
	page.Levels, err = measureLevels(cmd, page.Sheet, r, levels.Options{Folder: folder, Progress: bar.set})
	bar.finish()
	if err != nil {
		return nil, err
	}
	m.asIn(page.Sheet.Settings.Offsets)
	folder, tracks, partial := m.folder(cmd, folder, true)
	if partial != nil && !errors.Is(partial, errPartial) {
		return nil, partial
	}
	opt := fold.OptionsOf(page.Sheet.Settings)
	opt.Pin = nil // a pin names a pair of this sheet; among other numbers of pairs it means nothing
	page.Sweep, err = sweepOf(cmd, folder, tracks, opt, 1, min(sheet.MaxSweep, max(fewestTried, len(page.Sheet.Pairs)+beyond)))
	if err != nil {
		return nil, err
	}
	sumSweep(cmd, folder, page.Sweep, m.offsets)
	var loud []features.DB
	for n := range page.Sheet.Pairs {
		loud = append(loud, sheet.NotMeasured)
		for _, p := range page.Levels.Pairs {
			if p.Number == n+1 {
				loud[n] = p.IntegratedLUFS
			}
		}
	}
	page.Sheet.Figures.SetLoudness(loud, page.Levels.Total.IntegratedLUFS)
	return partial, nil
}
