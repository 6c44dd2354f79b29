package main

import (
	"fmt"
	"io"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/patch"
	"foldout/plan/report"
	"foldout/plan/rig"
)

func newPatch() *cobra.Command {
	var (
		rigFile, format, out, svg string
		force                     bool
		html                      htmlPage
	)
	cmd := &cobra.Command{
		Use:   "patch SHEET --rig RIG",
		Short: "List every plug from track to return, and draw it",
		Long: `patch follows every track of a saved sheet through the rig: bus, pair, line outputs, connectors and pins,
summing inputs, the way back and the print track. It lists the cables to buy or label, and refuses a patch
that contradicts the rig: speakers on a pair, the return on a pair, an output or an input used twice, more
pairs than there are outputs.

Without --rig it takes a plain one with as many pairs as the sheet, and says so.`,
		Example: `  foldout patch song.sheet.json --rig studio.toml
  foldout patch song.sheet.json --rig studio.toml --svg patch.svg
  foldout patch song.sheet.json --rig studio.toml --format csv --out patch.csv`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			follow(cmd, &format, &out, &html.file)
			write, ok := patchWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if err := free(force, out, svg, html.file); err != nil {
				return err
			}
			sheet, err := loadSheet(list[0])
			if err != nil {
				return err
			}
			var r *rig.Rig
			if rigFile != "" {
				if r, err = rig.Load(rigFile); err != nil {
					return err
				}
			} else {
				warn(cmd, "no --rig given: a plain one is taken, see the notes; foldout rig new makes your own")
			}
			p, err := patch.Make(sheet, r)
			if err != nil {
				return fmt.Errorf("%s: %w", list[0], err)
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, p) }); err != nil {
				return err
			}
			if err := writeDrawing(cmd, svg, force, p); err != nil {
				return err
			}
			return html.write(cmd, force, report.Page{Patch: p})
		},
	}
	f := cmd.Flags()
	html.register(f)
	f.StringVar(&rigFile, "rig", "", "rig `FILE`, as foldout rig new writes it")
	f.StringVar(&format, "format", "text", "text for people, json or csv for machines")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.StringVar(&svg, "svg", "", "draw the patch into this SVG `FILE` as well")
	f.BoolVar(&force, "force", false, "replace existing files")
	return cmd
}

var patchWriters = map[string]func(io.Writer, *patch.Patch) error{
	"text": text.Patch,
	"csv":  func(w io.Writer, p *patch.Patch) error { return p.WriteCSV(w) },
	"json": writeJSON[*patch.Patch],
}

// writeDrawing writes the patch as SVG where a file is named for it.
func writeDrawing(cmd *cobra.Command, path string, force bool, p *patch.Patch) error {
	if path == "" {
		return nil
	}
	return writeOut(cmd, path, force, func(w io.Writer) error {
		_, err := io.WriteString(w, p.SVG())
		return err
	})
}
