package main

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"github.com/spf13/cobra"

	"foldout/plan/sheet"
)

func newRename() *cobra.Command {
	var (
		title        string
		pairs, buses []string
		out          string
		force        bool
	)
	cmd := &cobra.Command{
		Use:   "rename SHEET --pair 3=Choir",
		Short: "Give the pairs, buses or the title of a sheet other names",
		Long: `rename changes names in a saved sheet: of pairs by their number, of buses by their name, of the title. Nothing else
changes. The names go with the sheet: onto patch sheet, stems and report, and into the sheets made from it with --like
and --grow. The sheet itself is rewritten unless --out names another file.`,
		Example: `  foldout rename song.json --pair 3=Choir --pair "4=Lead and effects"
  foldout rename song.json --bus "Percussion=Toys" --title "Paper Lamps"`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if title == "" && len(pairs) == 0 && len(buses) == 0 {
				return usagef("what is to be renamed? give --pair 3=Choir, --bus Old=New or --title TITLE")
			}
			change := func(doc *sheet.Sheet) error {
				if title != "" {
					doc.Title = title
				}
				return renameAll(doc, pairs, buses)
			}
			if out == "" {
				return rewriteSheet(list[0], change)
			}
			doc, err := loadSheet(list[0])
			if err != nil {
				return err
			}
			if err := change(doc); err != nil {
				return err
			}
			return writeOut(cmd, out, force, func(w io.Writer) error { return writeJSON(w, doc) })
		},
	}
	f := cmd.Flags()
	f.StringArrayVar(&pairs, "pair", nil, "new name of a pair: `3=Choir` (may be repeated)")
	f.StringArrayVar(&buses, "bus", nil, "new name of a bus: `OLD=NEW` (may be repeated)")
	f.StringVar(&title, "title", "", "new `TITLE` of the sheet")
	f.StringVar(&out, "out", "", "write to this `FILE` and leave SHEET as it is")
	f.BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

func renameAll(doc *sheet.Sheet, pairs, buses []string) error {
	for _, p := range pairs {
		number, name, ok := strings.Cut(p, "=")
		n, err := strconv.Atoi(strings.TrimSpace(number))
		if name = strings.TrimSpace(name); !ok || err != nil || name == "" {
			return usagef("--pair %s: want a number, = and a name, as in 3=Choir", p)
		}
		if err := doc.RenamePair(n, name); err != nil {
			return err
		}
	}
	for _, b := range buses {
		old, name, ok := strings.Cut(b, "=")
		old, name = strings.TrimSpace(old), strings.TrimSpace(name)
		if !ok || old == "" || name == "" {
			return usagef("--bus %s: want the old name, = and the new one", b)
		}
		if err := doc.RenameBus(old, name); err != nil {
			return fmt.Errorf("%w", err)
		}
	}
	return nil
}
