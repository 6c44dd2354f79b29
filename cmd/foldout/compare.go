package main

import (
	"errors"
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/features/unpack"
	"foldout/plan/printcheck"
	"foldout/plan/printcheck/page"
)

var compareWriters = map[string]func(io.Writer, *printcheck.Result) error{
	"text": text.Compare, "csv": text.CompareCSV, "json": writeJSON[*printcheck.Result],
}

func newCompare() *cobra.Command {
	var (
		e            printcheck.ExcerptOptions
		format, file string
		html         string
	)
	cmd := &cobra.Command{
		Use:   "compare MIX PRINT",
		Short: "What did the analogue trip do? Mix against print, in numbers",
		Long: `compare places the print on the mix (delay, gain, polarity, drift of the clock, swapped sides, cuts and pauses), and says
what the chain changed: third octaves with their confidence, loudness and peaks, width, noise and hum, harmonics, gain by
level, clicks and dropouts, how much of it all a linear filter explains, and which claims of the trade are true of this
print, which are not, and which cannot be told.

Both may be WAV, AIFF or FLAC. The print may be a part of the mix, begin anywhere, run at another rate, have an equalizer or a compressor on its return.
The delay is positive when the print is later. The gain is the one that most third octaves share; bands are given
without it.

--html, or --file with that extension, writes a page with curves: third octaves with their confidence, gain by level, what
no filter explains.

--out writes a passage of both, aligned and equally loud, with their difference and what the best linear fit leaves: a
folder for foldout listen, because figures do not say what can be heard.

Exit codes: 0 done; 1 the files do not belong together or cannot be read; 2 wrong usage.`,
		Example: `  foldout compare mix.wav print.wav
  foldout compare mix.wav print.wav --out ab --from 62 --length 15
  foldout compare mix.wav print.flac --html compare.html
  foldout compare mix.wav print.wav --file compare.json`,
		Args: args(cobra.ExactArgs(2)),
		RunE: func(cmd *cobra.Command, list []string) (err error) {
			follow(cmd, &format, &file, &html)
			writer, ok := compareWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if e.LengthS < 1 || e.LengthS > 120 {
				return usagef("--length %g: want 1 to 120 seconds", e.LengthS)
			}
			if !cmd.Flags().Changed("from") {
				e.FromS = -1
			} else if e.FromS < 0 {
				return usagef("--from %g: want a place in the mix, in seconds from its start", e.FromS)
			}
			if err := free(e.Force, file, html); err != nil {
				return err
			}
			if e.Dir != "" {
				if err := printcheck.Claimable(e, list[0], list[1]); err != nil {
					return err
				}
			}
			plain, done, err := unpack.Files(cmd.Context(), list...)
			if err != nil {
				return err
			}
			defer func() { err = errors.Join(err, done()) }()
			bar := newBar(cmd.ErrOrStderr(), "comparing")
			r, err := printcheck.Compare(cmd.Context(), plain[0], plain[1], printcheck.Options{Progress: bar.set})
			bar.finish()
			if err != nil {
				return err
			}
			if err := writeOut(cmd, file, e.Force, func(w io.Writer) error { return writer(w, r) }); err != nil {
				return err
			}
			if html != "" {
				if err := writeOut(cmd, html, e.Force, func(w io.Writer) error { return page.Write(w, r) }); err != nil {
					return err
				}
			}
			if e.Dir == "" {
				return nil
			}
			x, err := r.WriteExcerpt(cmd.Context(), e)
			if err != nil {
				return fmt.Errorf("the comparison is done, but its excerpt is not written: %w", err)
			}
			return text.Excerpt(cmd.ErrOrStderr(), e.Dir, x)
		},
	}
	f := cmd.Flags()
	f.StringVar(&e.Dir, "out", "", "`FOLDER` for an aligned, equally loud passage of both; made if it does not exist")
	f.Float64Var(&e.FromS, "from", 0, "where the passage begins, in `SECONDS` of the mix; else its loudest part is taken")
	f.Float64Var(&e.LengthS, "length", 20, "length of the passage in `SECONDS`")
	f.StringVar(&format, "format", "text", "text for people, json or csv for machines; else the extension of --file says it")
	f.StringVar(&html, "html", "", "write a page to look at, to print and to keep into this `FILE` as well")
	f.StringVar(&file, "file", "", "write the result to this `FILE` instead of the screen")
	f.BoolVar(&e.Force, "force", false, "replace existing files")
	return cmd
}
