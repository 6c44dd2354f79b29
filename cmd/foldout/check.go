package main

import (
	"errors"
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
		manual string
		format string
		out    string
		force  bool
		strict bool
		html   htmlPage
	)
	cmd := &cobra.Command{
		Use:   "check FOLDER --sheet MANUAL.csv",
		Short: "Judge a sheet made by hand: misfits, where they belong, what is right",
		Long: `check reads a table with the columns track and pair (and bus, if there is one), as any spreadsheet saves it,
measures the tracks of FOLDER, and says which tracks are out of place among the others on their pair, why, and
where they belong; which pairs are crowded or idle; which copies, sides and returns are away from their source; and
what is right. A pair is taken for what most of its tracks make it: whether the bass sits with the drums, with
the guitars or alone is your business.

The exit code is 0 whatever is found; with --strict it is 1 if there are misfits.`,
		Example: `  foldout check "Song stems" --sheet song.csv
  foldout check . --sheet song.csv --format json --out song.check.json`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if manual == "" {
				return usagef("which sheet? give --sheet FILE, a table with the columns track and pair")
			}
			write, ok := reportWriters[format]
			if !ok {
				return usagef("--format %s: want text or json", format)
			}
			if err := free(force, out, html.file); err != nil {
				return err
			}
			table, err := sheet.LoadManual(manual)
			if err != nil {
				return err
			}
			folder, tracks, partial := m.folder(cmd, list[0], true)
			if partial != nil && !errors.Is(partial, errPartial) {
				return partial
			}
			opt.Version, opt.Pairs = version, len(table.Names)
			session, err := fold.Prepare(folder, tracks, opt)
			if err != nil {
				return err
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
			if strict && len(judged.Misfits) > 0 {
				return errMisfits
			}
			return partial
		},
	}
	m.register(cmd.Flags())
	html.register(cmd.Flags())
	f := cmd.Flags()
	f.StringVar(&manual, "sheet", "", "the `SHEET` to judge: a table with the columns track and pair, or a sheet saved as JSON")
	f.StringVar(&format, "format", "text", "text for people, json for machines")
	f.BoolVar(&opt.EarsOnly, "ears-only", false, "ignore the names of the tracks")
	f.Uint64Var(&opt.Seed, "seed", 1, "seed of the search")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.BoolVar(&force, "force", false, "replace an existing file")
	f.BoolVar(&strict, "strict", false, "exit with code 1 if there are misfits")
	return cmd
}

var reportWriters = map[string]func(io.Writer, *sheet.Judgement) error{
	"text": text.Judgement,
	"json": writeJSON[*sheet.Judgement],
}
