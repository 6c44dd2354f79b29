package main

import (
	"errors"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/fold"
	"foldout/plan/report"
	"foldout/plan/sheet"
)

func newSweep() *cobra.Command {
	var (
		m      measuring
		opt    fold.Options
		pairs  string
		format string
		out    string
		svg    string
		force  bool
		html   htmlPage
		own    habitual
	)
	cmd := &cobra.Command{
		Use:   "sweep FOLDER [--pairs 2..16]",
		Short: "What does each added pair buy for these tracks?",
		Long: `sweep folds the tracks of FOLDER onto every number of pairs in a range and shows what each added pair buys: how much
of the difference between tracks is left within pairs, how far registers overlap inside pairs and across them,
how level the pairs are and how much headroom is won, what the tracks of a pair do to one another in a colouring
channel. It ends in a plain recommendation.`,
		Example: `  foldout sweep "Song stems"
  foldout sweep . --pairs 2..8 --svg pairs.svg`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			low, high, err := parseRange(pairs)
			if err != nil {
				return err
			}
			follow(cmd, &format, &out, &html.file)
			write, ok := sweepWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if err := free(force, out, svg, html.file); err != nil {
				return err
			}
			if err := own.load(cmd, &opt); err != nil {
				return err
			}
			folder, tracks, partial := m.folder(cmd, list[0], true)
			if partial != nil && !errors.Is(partial, errPartial) {
				return partial
			}
			opt.Version, opt.Pairs, opt.Offsets = version, high, m.offsets
			sweep, err := sweepOf(cmd, folder, tracks, opt, low, high)
			if err != nil {
				return err
			}
			sumSweep(cmd, folder, sweep, m.offsets)
			if svg != "" {
				if err := writeOut(cmd, svg, force, func(w io.Writer) error { return report.DrawSweep(w, sweep) }); err != nil {
					return err
				}
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, sweep) }); err != nil {
				return err
			}
			if err := html.write(cmd, force, report.Page{Sweep: sweep}); err != nil {
				return err
			}
			return partial
		},
	}
	m.register(cmd.Flags())
	m.registerStarts(cmd.Flags())
	html.register(cmd.Flags())
	f := cmd.Flags()
	f.StringVar(&pairs, "pairs", "2..16", "numbers of pairs to try, `A..B`")
	f.StringVar(&format, "format", "text", "text for people, json or csv for machines")
	registerChoice(f, &opt)
	own.register(f)
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.StringVar(&svg, "svg", "", "draw a picture into this `FILE` too")
	f.BoolVar(&force, "force", false, "replace existing files")
	return cmd
}

// parseRange reads "2..16", "2-16" or "4".
func parseRange(text string) (low, high int, err error) {
	a, b, two := strings.Cut(strings.ReplaceAll(text, "-", ".."), "..")
	low, err = strconv.Atoi(strings.TrimSpace(a))
	high = low
	if err == nil && two {
		high, err = strconv.Atoi(strings.TrimSpace(b))
	}
	if err != nil || low < 1 || high < low || high > sheet.MaxSweep {
		return 0, 0, usagef("--pairs %s: want a range such as 2..16, within 1..%d", text, sheet.MaxSweep)
	}
	return low, high, nil
}

var sweepWriters = map[string]func(io.Writer, *sheet.Sweep) error{
	"text": text.Sweep,
	"json": writeJSON[*sheet.Sweep],
	"csv":  text.SweepCSV,
}
