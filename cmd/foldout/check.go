package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/check"
	"foldout/plan/fold"
	"foldout/plan/report"
	"foldout/plan/sheet"
)

// errMisfits is the failure of check --strict.
var errMisfits = errors.New("the sheet has misfits")

func newCheck() *cobra.Command {
	var (
		m      measuring
		opt    fold.Options
		pairs  int
		manual string
		format string
		out    string
		force  bool
		strict bool
		apply  string
		take   []int
		html   htmlPage
		own    habitual
	)
	cmd := &cobra.Command{
		Use:   "check FOLDER --sheet MANUAL.csv",
		Short: "Judge a grouping made by hand: what is out of place, and why",
		Long: `check reads a table with the columns track and pair (and bus, if there is one), as any spreadsheet saves it,
measures the tracks of FOLDER, and says which tracks are out of place among the others on their pair, why, and
where they belong; which pairs are crowded or idle; which copies, sides and returns are away from their source; and
what is right. A pair is taken for what most of its tracks make it: whether the bass sits with the drums, with
the guitars or alone is your business.

With --apply the proposed moves are made (all, or those of --take) and the grouping is written as a full sheet.

The exit code is 0 whatever is found; with --strict it is 1 if there are misfits.`,
		Example: `  foldout check "Song stems" --sheet song.csv
  foldout check . --sheet song.csv --format json --out song.check.json`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if manual == "" {
				return usagef("which sheet? give --sheet FILE, a table with the columns track and pair")
			}
			follow(cmd, &format, &out, &html.file)
			write, ok := reportWriters[format]
			if !ok {
				return usagef("--format %s: want text or json", format)
			}
			if apply == "" && len(take) > 0 {
				return usagef("--take says which moves to make; --apply FILE says where the sheet goes")
			}
			if err := free(force, out, html.file, apply); err != nil {
				return err
			}
			table, err := loadTable(cmd, manual, pairs)
			if err != nil {
				return err
			}
			if err := own.load(cmd, &opt); err != nil {
				return err
			}
			m.asIn(table.Late)
			folder, tracks, partial := m.folder(cmd, list[0], true)
			if partial != nil && !errors.Is(partial, errPartial) {
				return partial
			}
			opt.Version, opt.Pairs, opt.Table, opt.Offsets = version, len(table.Names), table, m.offsets
			session, err := fold.Prepare(folder, tracks, opt)
			if err != nil {
				return err
			}
			if err := session.FitPans(table); err != nil {
				return fmt.Errorf("%s: %w", manual, err)
			}
			judged, err := check.Judge(session, table, manual)
			if err != nil {
				return err
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, judged) }); err != nil {
				return err
			}
			if err := html.write(cmd, force, report.Page{Check: judged}); err != nil {
				return err
			}
			if apply != "" {
				if err := applyMoves(cmd, session, table, manual, take, apply, force); err != nil {
					return err
				}
			}
			if strict && len(judged.Misfits) > 0 {
				return errMisfits
			}
			return partial
		},
	}
	m.register(cmd.Flags())
	m.registerStarts(cmd.Flags())
	html.register(cmd.Flags())
	f := cmd.Flags()
	f.StringVar(&manual, "sheet", "", "the `SHEET` to judge: a table with the columns track and pair, or a sheet saved as JSON")
	f.StringVar(&format, "format", "text", "text for people, json for machines")
	f.IntVarP(&pairs, "pairs", "k", 0, "number of stereo pairs that there are; those the table does not use are free (default: as many as the table names)")
	registerChoice(f, &opt)
	own.register(f)
	f.StringVar(&apply, "apply", "", "write a full sheet with the proposed moves made into this `FILE`")
	f.IntSliceVar(&take, "take", nil, "with --apply: make only these moves, by their `NUMBER` in the list of misfits (1,3)")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.BoolVar(&force, "force", false, "replace an existing file")
	f.BoolVar(&strict, "strict", false, "exit with code 1 if there are misfits")
	return cmd
}

// applyMoves writes the sheet with moves made. Tracks that the table leaves out go where they fit best.
func applyMoves(cmd *cobra.Command, s *fold.Session, table *sheet.Manual, name string, take []int, path string, force bool) error {
	doc, _, err := check.Adopt(s, check.Adoption{Table: table, Name: name, Fill: true, Take: take, All: len(take) == 0})
	if err != nil {
		return err
	}
	return writeOut(cmd, path, force, func(w io.Writer) error { return writeJSON(w, doc) })
}

var reportWriters = map[string]func(io.Writer, *sheet.Judgement) error{
	"text": text.Judgement,
	"json": writeJSON[*sheet.Judgement],
}
