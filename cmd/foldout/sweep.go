package main

import (
	"encoding/csv"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"math"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

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
			write, ok := sweepWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if err := free(force, out, svg, html.file); err != nil {
				return err
			}
			folder, tracks, partial := m.folder(cmd, list[0], true)
			if partial != nil && !errors.Is(partial, errPartial) {
				return partial
			}
			opt.Version, opt.Pairs = version, high
			session, err := fold.Prepare(folder, tracks, opt)
			if err != nil {
				return err
			}
			sweep, err := session.Sweep(low, high)
			if err != nil {
				return err
			}
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
	html.register(cmd.Flags())
	f := cmd.Flags()
	f.StringVar(&pairs, "pairs", "2..16", "numbers of pairs to try, `A..B`")
	f.StringVar(&format, "format", "text", "text for people, json or csv for machines")
	f.BoolVar(&opt.EarsOnly, "ears-only", false, "ignore the names of the tracks")
	f.Uint64Var(&opt.Seed, "seed", 1, "seed of the search")
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
	if err != nil || low < 1 || high < low || high > 64 {
		return 0, 0, usagef("--pairs %s: want a range such as 2..16, within 1..64", text)
	}
	return low, high, nil
}

var sweepWriters = map[string]func(io.Writer, *sheet.Sweep) error{
	"text": writeSweepText,
	"json": func(w io.Writer, s *sheet.Sweep) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		e.SetEscapeHTML(false)
		return e.Encode(s)
	},
	"csv": writeSweepCSV,
}

func writeSweepText(w io.Writer, s *sheet.Sweep) error {
	p := newPrinter(w)
	p.line("%s: %s\n", s.Title, count(s.Tracks, "track"))
	p.line("%5s %5s %8s %9s %9s %9s %9s %9s", "pairs", "used", "left", "overlap", "overlap", "loudest", "level", "inter-")
	p.line("%5s %5s %8s %9s %9s %9s %9s %9s", "", "", "within", "inside", "across", "pair dB", "spread dB", "mod. dB")
	for _, x := range s.Points {
		mark := " "
		if x.Pairs == s.Recommend {
			mark = "*"
		}
		f := &x.Figures
		p.line("%s%4d %5d %6.0f %% %7.0f %% %7.0f %% %9.1f %9.1f %9s", mark, x.Pairs, x.Used, 100*x.SpreadPC, 100*f.RegisterOverlap, 100*f.OverlapAcross,
			f.LoudestPairDB, f.LevelSpreadDB, orNone(float64(f.IntermodulationDB)))
	}
	p.head("What each pair buys")
	for _, x := range s.Points {
		p.item(fmt.Sprintf("  %2d  ", x.Pairs), x.Buys)
	}
	p.head("Recommendation")
	p.item("  ", s.Advice)
	p.item("  ", "foldout explain --glossary says what each figure means.")
	return p.err
}

func orNone(v float64) string {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return "none"
	}
	return fmt.Sprintf("%.1f", v)
}

func writeSweepCSV(w io.Writer, s *sheet.Sweep) error {
	rows := [][]string{{"pairs", "pairs_used", "spread_share", "within_spread", "silhouette", "register_overlap", "register_overlap_across", "loudest_pair_db", "level_spread_db", "intermodulation_db", "gap", "buys"}}
	number := func(v float64) string {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	for _, x := range s.Points {
		f := &x.Figures
		rows = append(rows, []string{strconv.Itoa(x.Pairs), strconv.Itoa(x.Used), number(x.SpreadPC), number(f.WithinSpread), number(f.Silhouette), number(f.RegisterOverlap),
			number(f.OverlapAcross), number(f.LoudestPairDB), number(f.LevelSpreadDB), number(float64(f.IntermodulationDB)), number(x.Gap), x.Buys})
	}
	return csv.NewWriter(w).WriteAll(rows)
}
