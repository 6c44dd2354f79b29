package main

import (
	"fmt"
	"slices"
	"strings"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/features/wavfile"
	"foldout/plan/linecheck/tones"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// toneBits are the formats of test tones.
var toneBits = map[string]wavfile.Encoding{"16": wavfile.PCM16, "24": wavfile.PCM24, "float": wavfile.Float32}

var tonesWriters = map[string]func(*cobra.Command, *text.TonesDocument) error{
	"text": func(cmd *cobra.Command, d *text.TonesDocument) error { return text.Tones(cmd.OutOrStdout(), d) },
	"json": func(cmd *cobra.Command, d *text.TonesDocument) error { return writeJSON(cmd.OutOrStdout(), d) },
}

func newTones() *cobra.Command {
	var (
		o                                tones.Options
		pairs                            int
		rigFile, sheetFile, bits, format string
	)
	cmd := &cobra.Command{
		Use:   "tones --pairs K | --rig RIG | --sheet SHEET --out DIR",
		Short: "Write test tones for a line check: is it plugged as it says?",
		Long: `tones writes one stereo file of test tones for every pair of line outputs: 01-02.wav, 03-04.wav ... all of one length,
to be played together from the same start while the return of the summing unit is recorded. foldout trace then tells
from the recording what every single output does.

First a sync signal on all outputs; then for every output a turn of its own: a sweep from 20 Hz to 20 kHz, 1 kHz at
operating level, six tones at once, silence; then all outputs together, a long 1 kHz, and the sync signal again.

CAUTIONS: monitors off and headphones away before you play the tones. Never through loudspeakers: sweeps burn tweeters.
The first time, and after every change of cables, run once 20 dB down: --level -20. More in the text file beside the tones.`,
		Example: `  foldout tones --rig studio.toml --out linecheck --level -20
  foldout tones --rig studio.toml --sheet song.sheet.json --out linecheck
  foldout tones --pairs 4 --out linecheck --quick --rate 96000`,
		Args: args(cobra.NoArgs),
		RunE: func(cmd *cobra.Command, _ []string) error {
			if o.Dir == "" {
				return usagef("where to? give --out DIR, for example --out linecheck")
			}
			write, ok := tonesWriters[format]
			if !ok {
				return usagef("--format %s: want text or json", format)
			}
			if o.Encoding, ok = toneBits[bits]; !ok {
				return usagef("--bits %s: want 16, 24 or float", bits)
			}
			if !slices.Contains(tones.Rates, o.RateHz) {
				return usagef("--rate %d: want one of %s", o.RateHz, strings.Trim(fmt.Sprint(tones.Rates), "[]"))
			}
			if o.LevelDB < -60 || o.LevelDB > 20 {
				return usagef("--level %g: want -60 to 20 dB", o.LevelDB)
			}
			plan, err := tonesFor(cmd, pairs, rigFile, sheetFile)
			if err != nil {
				return err
			}
			for _, c := range tones.Cautions {
				warn(cmd, "CAUTION: %s", c)
			}
			bar := newBar(cmd.ErrOrStderr(), "writing")
			o.Progress = bar.set
			err = plan.Write(cmd.Context(), o)
			bar.finish()
			if err != nil {
				return err
			}
			return write(cmd, text.NewTonesDocument(plan, o.Dir))
		},
	}
	f := cmd.Flags()
	f.IntVar(&pairs, "pairs", 0, "for so many pairs, outputs 1/2, 3/4 ...")
	f.StringVar(&rigFile, "rig", "", "for the pairs of this rig `FILE` that are free for the mix")
	f.StringVar(&sheetFile, "sheet", "", "for the pairs of this saved `SHEET`; with --rig on the outputs they are patched to")
	f.StringVar(&o.Dir, "out", "", "`FOLDER` for the files; made if it does not exist")
	f.BoolVar(&o.Quick, "quick", false, "shorter turns: under 90 s for 8 outputs")
	f.Float64Var(&o.LevelDB, "level", 0, "`dB` on top of operating level; -20 for the first run")
	f.IntVar(&o.RateHz, "rate", 48000, "sample rate in `HZ`")
	f.StringVar(&bits, "bits", "24", "16, 24 or float")
	f.StringVar(&format, "format", "text", "text for people, json for machines")
	f.BoolVar(&o.Force, "force", false, "replace existing tones")
	return cmd
}

// tonesFor plans the tones for what the flags name.
func tonesFor(cmd *cobra.Command, pairs int, rigFile, sheetFile string) (*tones.Plan, error) {
	given := cmd.Flags().Changed("pairs")
	if given && (rigFile != "" || sheetFile != "") {
		return nil, usagef("--pairs stands alone; a rig or a sheet says by itself how many pairs there are")
	}
	var doc *sheet.Sheet
	var err error
	if sheetFile != "" {
		if doc, err = sheet.Load(sheetFile); err != nil {
			return nil, err
		}
	}
	switch {
	case given:
		if pairs < 1 || 2*pairs > tones.MaxOutputs {
			return nil, usagef("--pairs %d: want 1 to %d", pairs, tones.MaxOutputs/2)
		}
		return tones.ForPairs(pairs), nil
	case rigFile != "":
		r, err := rig.Load(rigFile)
		if err != nil {
			return nil, err
		}
		return tones.ForRig(r, doc)
	case doc != nil:
		if len(doc.Pairs) == 0 || 2*len(doc.Pairs) > tones.MaxOutputs {
			return nil, fmt.Errorf("%s has %d pairs; tones serve 1 to %d", sheetFile, len(doc.Pairs), tones.MaxOutputs/2)
		}
		return tones.ForSheet(doc), nil
	}
	return nil, usagef("for which outputs? give --pairs K, --rig RIG or --sheet SHEET")
}
