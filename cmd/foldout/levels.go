package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/levels"
	"foldout/plan/report"
	"foldout/plan/rig"
)

func newLevels() *cobra.Command {
	var (
		rigFile, folder, format, out string
		sameStart, force             bool
		html                         htmlPage
	)
	cmd := &cobra.Command{
		Use:   "levels SHEET --rig RIG",
		Short: "Sum every pair and say what the summing unit will see",
		Long: `levels sums the tracks of every pair of a saved sheet sample by sample and measures the sums: true peak and
loudness (ITU-R BS.1770-5), VU (IEC 60268-17) at the operating level, correlation and what is lost in mono,
the level at the summing input in dBu, the headroom of converter and unit, the tracks that cause overs, and
the trim that brings each pair to the operating level. Mono tracks go to both sides with the pan law of the
rig; the halves of a split stereo source go to their sides.

The trim: loud passages (the highest twentieth of the VU readings within 20 dB of the highest) read 0 VU, as
far as the true peak stays at -1 dBTP and below the unit's maximum input. Trims of single pairs change the
balance between them; the common trim keeps it.

Without --rig it takes a plain one and -18 dBFS = 0 VU = +4 dBu, and says so.`,
		Example: `  foldout levels song.sheet.json --rig studio.toml
  foldout levels song.sheet.json --rig studio.toml --format csv --out levels.csv`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			follow(cmd, &format, &out, &html.file)
			write, ok := levelWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if err := free(force, out, html.file); err != nil {
				return err
			}
			sheet, err := loadSheet(list[0])
			if err != nil {
				return err
			}
			r, err := loadRig(cmd, rigFile)
			if err != nil {
				return err
			}
			bar := newBar(cmd.ErrOrStderr(), "summing")
			l, err := measureLevels(cmd, sheet, r, levels.Options{Folder: folder, SameStart: sameStart, Progress: bar.set})
			bar.finish()
			if err != nil {
				return fmt.Errorf("%s: %w", list[0], err)
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, l) }); err != nil {
				return err
			}
			return html.write(cmd, force, report.Page{Levels: l})
		},
	}
	f := cmd.Flags()
	html.register(f)
	f.StringVar(&rigFile, "rig", "", "rig `FILE`, as foldout rig new writes it")
	f.StringVar(&folder, "folder", "", "`FOLDER` where the tracks are, if they have moved since the sheet was made")
	f.BoolVar(&sameStart, "same-start", false, "all files begin together, whatever their time references say")
	f.StringVar(&format, "format", "text", "text for people, json or csv for machines")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

// loadRig reads a rig file; without one it says what is taken instead and returns nil, which stands for a plain rig.
func loadRig(cmd *cobra.Command, path string) (*rig.Rig, error) {
	if path == "" {
		warn(cmd, "no --rig given: a plain one is taken, %s; foldout rig new makes your own", rig.DefaultAlignment)
		return nil, nil
	}
	return rig.Load(path)
}

var levelWriters = map[string]func(io.Writer, *levels.Levels) error{
	"text": text.Levels, "csv": text.LevelsCSV,
	"json": writeJSON[*levels.Levels],
}
