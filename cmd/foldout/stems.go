package main

import (
	"fmt"
	"io"
	"slices"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/levels"
	"foldout/plan/patch"
	"foldout/plan/rig"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

func newStems() *cobra.Command {
	var (
		w                     stems.WriteOptions
		rigFile, folder, pan  string
		bits, format, against string
		sameStart, trim       bool
	)
	cmd := &cobra.Command{
		Use:   "stems SHEET --out DIR",
		Short: "Write one file per pair, and prove that they add up to the mix",
		Long: `stems sums the tracks of every pair of a saved sheet and writes one stereo file per pair, named after it: all of one
length, lined up by the time references of the tracks (bext), as 24-bit PCM with triangular dither; where 24 bits cannot
hold a sum all are 32-bit float, and a note says so. With --bits 24 or 16 nothing is written then; the message names
time, tracks and the gain that fits. --trim renders at the common trim of foldout levels. Mono tracks go to both sides with the
pan law of the rig or of --pan, or where the sheet pans them (pan and gain_db of a track); the halves of a split stereo
source go to their sides.

--against compares the sum of the files with a mix of the same tracks. What is left over is reported in dBFS, and if the
two do not cancel, so is the most likely reason. The exit code is then 1.`,
		Example: `  foldout stems song.sheet.json --out stems
  foldout stems song.sheet.json --out stems --bits float --against mix.wav
  foldout stems song.sheet.json --out stems --bus --gain -6`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if w.Dir == "" {
				return usagef("where to? give --out DIR, for example --out stems")
			}
			switch bits {
			case "auto":
				w.Bits, w.Auto = 24, true
			case "24", "16":
				w.Bits, _ = strconv.Atoi(bits)
			case "float":
				w.Float = true
			default:
				return usagef("--bits %s: want auto, 24, 16 or float", bits)
			}
			if trim && cmd.Flags().Changed("gain") {
				return usagef("--trim and --gain both set the level; give one of them")
			}
			write, ok := stemsWriters[format]
			if !ok {
				return usagef("--format %s: want text or json", format)
			}
			doc, err := loadSheet(list[0])
			if err != nil {
				return err
			}
			if !(w.GainDB >= -100 && w.GainDB <= 100) {
				return usagef("--gain %v: want -100 to 100 dB", w.GainDB)
			}
			gain, law, err := panGain(rigFile, pan)
			if err != nil {
				return err
			}
			s, err := stems.Open(doc, stems.Options{Folder: folder, PanGain: gain, SameStart: sameStart})
			if err != nil {
				return fmt.Errorf("%s: %w", list[0], err)
			}
			w.Seed = doc.Settings.Seed
			if trim {
				if err := trimmed(cmd, doc, rigFile, law, levels.Options{Folder: folder, SameStart: sameStart}, &w); err != nil {
					return fmt.Errorf("%s: %w", list[0], err)
				}
			}
			if against != "" {
				w.Keep = []string{against}
				if err := s.CheckMix(against); err != nil { // before the work, not after it
					return err
				}
			}
			bar := newBar(cmd.ErrOrStderr(), "writing")
			w.Progress = bar.set
			written, err := s.Write(cmd.Context(), w)
			bar.finish()
			if err != nil {
				return err
			}
			result := &text.StemsDocument{Schema: sheet.SchemaVersion, Pan: law, Written: written}
			if against != "" {
				bar := newBar(cmd.ErrOrStderr(), "comparing")
				result.Null, err = s.Against(cmd.Context(), written, against, bar.set)
				bar.finish()
				if err != nil {
					return err
				}
			}
			if err := write(cmd.OutOrStdout(), result); err != nil {
				return err
			}
			if result.Null != nil && !result.Null.Nulls {
				return fmt.Errorf("the stems are written, but they do not add up to %s", against)
			}
			return nil
		},
	}
	f := cmd.Flags()
	f.StringVar(&w.Dir, "out", "", "`FOLDER` for the files; made if it does not exist")
	f.BoolVar(&w.Buses, "bus", false, "write a file for each bus as well")
	f.StringVar(&bits, "bits", "auto", "24 or 16 for PCM with dither, float for 32-bit float, auto for 24 where it holds every sum, else float")
	f.BoolVar(&trim, "trim", false, "at the common trim of foldout levels, which brings the loudest pair to the operating level (see --rig)")
	f.Float64Var(&w.GainDB, "gain", 0, "gain in `dB` for all pairs alike")
	f.StringVar(&against, "against", "", "a `MIX` of the same tracks, to prove that the files add up to it")
	f.StringVar(&rigFile, "rig", "", "rig `FILE`, for its pan law")
	f.StringVar(&pan, "pan", "", `pan law of centred mono tracks: "-3 dB" (default), "-4.5 dB", "-6 dB" or "0 dB"`)
	f.StringVar(&folder, "folder", "", "`FOLDER` where the tracks are, if they have moved since the sheet was made")
	f.BoolVar(&sameStart, "same-start", false, "all files begin together, whatever their time references say")
	f.StringVar(&format, "format", "text", "text for people, json for machines")
	f.BoolVar(&w.Force, "force", false, "replace existing files")
	return cmd
}

// trimmed sets the gains of the files to the common trim of the levels; where interfaces differ, that of each.
func trimmed(cmd *cobra.Command, doc *sheet.Sheet, rigFile, law string, opt levels.Options, w *stems.WriteOptions) error {
	r, err := loadRig(cmd, rigFile)
	if err != nil {
		return err
	}
	if r == nil {
		doc, r = patch.Plain(doc)
	}
	r.Pan = law
	l, err := measureLevels(cmd, doc, r, opt)
	if err != nil {
		return err
	}
	if !l.Differ() {
		w.GainDB = l.Common.GainDB
		return nil
	}
	w.PairDB = l.PairGains()
	return nil
}

var stemsWriters = map[string]func(io.Writer, *text.StemsDocument) error{"text": text.Stems, "json": writeJSON[*text.StemsDocument]}

// panGain takes the pan law from --pan, else from the rig, else the default.
func panGain(rigFile, pan string) (gain float64, law string, err error) {
	r := rig.Plain(1)
	if rigFile != "" {
		if r, err = rig.Load(rigFile); err != nil {
			return 0, "", err
		}
	}
	if pan != "" {
		law := strings.Replace(strings.ReplaceAll(strings.ToLower(pan), " ", ""), "db", "", 1) + " dB"
		if !slices.Contains(rig.PanLaws, law) {
			return 0, "", usagef("--pan %s: want one of %s", pan, strings.Join(rig.PanLaws, ", "))
		}
		r.Pan = law
	}
	return r.PanGain(), r.Pan, nil
}
