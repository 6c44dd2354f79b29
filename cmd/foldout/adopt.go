package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"foldout/plan/check"
	"foldout/plan/fold"
	"foldout/plan/report"
	"foldout/plan/sheet"
)

func newAdopt() *cobra.Command {
	var (
		m      measuring
		opt    fold.Options
		pairs  int
		manual string
		rigAt  string
		res    results
		fill   bool
		why    bool
		own    habitual
	)
	cmd := &cobra.Command{
		Use:   "adopt FOLDER --sheet MANUAL.csv",
		Short: "Make a full sheet of a grouping made by hand",
		Long: `adopt reads a table with the columns track and pair (and bus, if there is one), as any spreadsheet saves it, and makes
a full sheet of it: for levels, patch, stems and report, and for --like and --grow later. Your grouping is kept as it
is; what speaks against a place stands beside it as a remark. Tracks that the table leaves out are set aside, or
placed where they fit best with --fill. foldout check says what it thinks of a table without making a sheet.`,
		Example: `  foldout adopt "Song stems" --sheet mine.csv --out mine.json
  foldout adopt . --sheet mine.csv --fill --rig studio.toml --out mine.json`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if manual == "" {
				return usagef("which grouping? give --sheet FILE, a table with the columns track and pair")
			}
			write, err := writerFor(cmd, &res, sheetWriters, "text, json or csv", why)
			if err != nil {
				return err
			}
			table, err := loadTable(cmd, manual, pairs)
			if err != nil {
				return err
			}
			if err := own.load(cmd, &opt); err != nil {
				return err
			}
			session, partial := m.byHand(cmd, list[0], table, manual, fill, &opt, rigAt)
			if session == nil {
				return partial
			}
			doc, _, err := check.Adopt(session, check.Adoption{Table: table, Name: manual, Fill: fill, Outs: opt.Outputs})
			if err != nil {
				return err
			}
			warnAbout(cmd, doc)
			if err := writeOut(cmd, res.out, res.force, func(w io.Writer) error { return write(w, doc) }); err != nil {
				return err
			}
			return errors.Join(res.html.write(cmd, res.force, report.Page{Sheet: doc}), partial)
		},
	}
	f := cmd.Flags()
	m.register(f)
	m.registerStarts(f)
	res.register(f, "text for people, json or csv for machines")
	f.StringVar(&manual, "sheet", "", "the grouping: a `TABLE` with the columns track and pair, or a sheet saved as JSON")
	f.StringVar(&rigAt, "rig", "", "rig `FILE`: says which outputs the pairs have (see foldout rig new)")
	f.BoolVar(&fill, "fill", false, "place the tracks that the table leaves out where they fit best")
	f.BoolVar(&why, "why", false, "show every reason, not only the first of each track")
	f.IntVarP(&pairs, "pairs", "k", 0, "number of stereo pairs that there are; those the table does not use are free (default: as many as the table names)")
	registerChoice(f, &opt)
	own.register(f)
	return cmd
}

// loadTable reads a grouping made by hand for a number of pairs; without --pairs the table says how many there are.
func loadTable(cmd *cobra.Command, path string, pairs int) (*sheet.Manual, error) {
	if cmd.Flags().Changed("pairs") && (pairs < 1 || pairs > sheet.MaxPairs) {
		return nil, usagef("--pairs %d: want 1 to %d", pairs, sheet.MaxPairs)
	}
	table, err := sheet.LoadManual(path)
	if err != nil {
		return nil, err
	}
	if err := table.Offer(pairs); err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return table, nil
}

// byHand prepares the session of a grouping made by hand. A nil session comes with the error; else the error is
// errPartial or nil.
func (m *measuring) byHand(cmd *cobra.Command, dir string, table *sheet.Manual, name string, fill bool, opt *fold.Options, rigAt string) (*fold.Session, error) {
	opt.Version, opt.Pairs, opt.Table = version, len(table.Names), table
	if !fill {
		opt.Only = name + " leaves it out"
	}
	if err := useOutputs(cmd, rigAt, opt); err != nil {
		return nil, err
	}
	m.asIn(table.Late)
	folder, tracks, partial := m.folder(cmd, dir, true)
	if partial != nil && !errors.Is(partial, errPartial) {
		return nil, partial
	}
	opt.Offsets = m.offsets
	session, err := fold.Prepare(folder, tracks, *opt)
	if err != nil {
		return nil, err
	}
	if err := session.FitPans(table); err != nil {
		return nil, fmt.Errorf("%s: %w", name, err)
	}
	return session, partial
}

// useOutputs takes the line outputs of the pairs from a rig, which must have enough of them.
func useOutputs(cmd *cobra.Command, path string, opt *fold.Options) error {
	if path == "" {
		return nil
	}
	wanted := opt.Pairs
	if err := useRig(cmd, path, opt); err != nil {
		return err
	}
	if len(opt.Outputs) < wanted {
		return usagef("%s has %d free pairs, and the grouping needs %d", path, len(opt.Outputs), wanted)
	}
	opt.Pairs, opt.Outputs = wanted, opt.Outputs[:wanted]
	return nil
}
