package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/fold"
	"foldout/plan/report"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

func newSuggest() *cobra.Command {
	var (
		m      measuring
		opt    fold.Options
		format string
		out    string
		force  bool
		why    bool
		html   htmlPage
		rigAt  string
		from   older
		own    habitual
	)
	cmd := &cobra.Command{
		Use:   "suggest FOLDER --pairs K",
		Short: "Fold the tracks of a folder onto K stereo pairs",
		Long: `suggest measures every audio file (WAV, AIFF, FLAC) below FOLDER and folds the tracks onto K stereo pairs of line outputs, so that
like sits with like: tracks of one register and envelope, one role, one performance. For every track it says
what was measured or read that put it there, how firm the place is, and where it would go next.

Names are read as a hint ("01 Kick In", "BD_in", "gtr-L.2", "LdVox dbl"), the sound decides where they are
silent; --ears-only ignores them. Parallel copies, DI and amplifier, left and right files and effect returns
are found by ear and stay with their source. What is no track (a mix, an old print, a click, talkback, a reference
song, a test tone) is set aside, or asked about. You have the last word: --tie, --apart, --pin, --exclude, --include.`,
		Example: `  foldout suggest "Song stems" --pairs 4
  foldout suggest . --pairs 8 --pin "Lead Vox=8" --apart "Bass DI,Kick In"
  foldout suggest . --rig studio.toml
  foldout suggest . --pairs 4 --format json --out song.sheet.json
  foldout suggest . --pairs 8 --grow song.sheet.json
  foldout suggest ../Song2 --like song.sheet.json`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if opt.UseAll && from.like != "" {
				return usagef("--use-all and --like exclude one another: with --like every pair keeps what it is for")
			}
			if err := from.load(cmd, &opt); err != nil {
				return err
			}
			if !cmd.Flags().Changed("pairs") && rigAt == "" && from.like == "" {
				return usagef("how many stereo pairs are free? give --pairs K, for example --pairs 4 for eight line outputs, or describe your rig once and give --rig FILE")
			}
			if cmd.Flags().Changed("pairs") && opt.Pairs < 1 {
				return usagef("--pairs %d: want at least 1", opt.Pairs)
			}
			if opt.Pairs > sheet.MaxPairs {
				return usagef("--pairs %d: want at most %d", opt.Pairs, sheet.MaxPairs)
			}
			if err := useRig(cmd, rigAt, &opt); err != nil {
				return err
			}
			if err := own.load(cmd, &opt); err != nil {
				return err
			}
			follow(cmd, &format, &out, &html.file)
			write, ok := sheetWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if why && format == "text" {
				write = text.SheetReasons
			}
			if err := free(force, out, html.file); err != nil {
				return err
			}
			if from.grow != "" {
				m.asIn(from.sheet.Settings.Offsets)
			}
			folder, tracks, partial := m.folder(cmd, list[0], true)
			if partial != nil && !errors.Is(partial, errPartial) {
				return partial
			}
			opt.Version, opt.Offsets = version, m.offsets
			session, err := fold.Prepare(folder, tracks, opt)
			if err != nil {
				return err
			}
			sheet, err := from.suggest(session, opt.Pairs)
			if err != nil {
				return err
			}
			warnAbout(cmd, sheet)
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, sheet) }); err != nil {
				return err
			}
			if err := html.write(cmd, force, report.Page{Sheet: sheet}); err != nil {
				return err
			}
			return partial
		},
	}
	f := cmd.Flags()
	m.register(f)
	m.registerStarts(f)
	html.register(f)
	f.IntVarP(&opt.Pairs, "pairs", "k", 0, "number of stereo pairs that are free")
	f.StringVar(&rigAt, "rig", "", "rig `FILE`: says which outputs are free (see foldout rig new)")
	f.StringVar(&from.grow, "grow", "", "split the pairs of this `SHEET` instead of folding anew: no track changes its company more than it must")
	f.StringVar(&from.like, "like", "", "keep the pairs and names of this `SHEET`, for the next song of an album")
	f.BoolVar(&opt.UseAll, "use-all", false, "leave no pair free: cut the largest differences within kinds of track too")
	f.StringVar(&format, "format", "text", "text for people, json or csv for machines; else the extension of --out says it")
	f.BoolVar(&why, "why", false, "show every reason, not only the first of each track")
	registerChoice(f, &opt)
	own.register(f)
	f.StringArrayVar(&opt.Tie, "tie", nil, "keep the tracks `A,B` on one pair (may be repeated)")
	f.StringArrayVar(&opt.Apart, "apart", nil, "keep the tracks `A,B` on different pairs (may be repeated)")
	f.StringArrayVar(&opt.Pin, "pin", nil, "put track A on pair 3: `A=3` (may be repeated)")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

// useRig takes the number of pairs, where none is asked for, and their line outputs from a rig.
func useRig(cmd *cobra.Command, path string, opt *fold.Options) error {
	if path == "" {
		return nil
	}
	r, err := rig.Load(path)
	if err != nil {
		return err
	}
	pairs, notes, err := r.Pairs()
	if err != nil {
		return fmt.Errorf("%s: %w", path, err)
	}
	for _, n := range notes {
		warn(cmd, "%s: %s", path, n)
	}
	if opt.Pairs == 0 {
		opt.Pairs = min(len(pairs), sheet.MaxPairs)
	}
	if opt.Pairs > len(pairs) {
		return fmt.Errorf("%s has %d free pairs, not %d; ask for fewer or leave --pairs out", path, len(pairs), opt.Pairs)
	}
	opt.Outputs, opt.Devices = rig.Outputs(pairs), rig.Devices(pairs)
	return nil
}

var sheetWriters = map[string]func(io.Writer, *sheet.Sheet) error{
	"text": text.Sheet,
	"json": writeJSON[*sheet.Sheet], "csv": text.SheetCSV,
}
