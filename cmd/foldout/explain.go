package main

import (
	"errors"
	"fmt"
	"io"
	"strings"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/explain"
	"foldout/plan/fold"
	"foldout/plan/glossary"
)

func newExplain() *cobra.Command {
	var (
		m      measuring
		folder string
		lookup bool
		format string
		teach  string
		force  bool
		own    habitual
	)
	cmd := &cobra.Command{
		Use:   "explain SHEET [TRACK|PAIR]",
		Short: "The full argument for a sheet, a pair or a track; the glossary",
		Long: `explain takes a sheet saved with suggest --format json --out SHEET and argues, for a newcomer, why a track is where it
is: what it was taken for and why, its spectrum and envelope against those of its pair and of the next best
one, which tracks are its kin, why such tracks share a pair, and what one more pair would change. Without a track
or pair it explains the whole sheet. The tracks are measured again, or looked up if they were measured before.

explain --lesson DIR shows on these very tracks what neighbours do to one another in a shared channel, what the channels
add, and from which drive on it can be heard: a page of words (lesson.html) and two pictures in the folder DIR.

explain --glossary lists every measure with its formula, unit, reading and source; a WORD narrows it down.`,
		Example: `  foldout explain song.sheet.json
  foldout explain song.sheet.json "Kick In"
  foldout explain song.sheet.json 3
  foldout explain song.sheet.json --lesson lesson
  foldout explain --glossary crest`,
		Args: func(cmd *cobra.Command, list []string) error {
			if lookup {
				return nil
			}
			return args(cobra.RangeArgs(1, 2))(cmd, list)
		},
		RunE: func(cmd *cobra.Command, list []string) error {
			if lookup {
				return lookUp(cmd.OutOrStdout(), strings.Join(list, " "), format)
			}
			if format != "text" {
				return usagef("--format %s: explanations are text; json is for --glossary", format)
			}
			sheet, err := loadSheet(list[0])
			if err != nil {
				return err
			}
			if folder == "" {
				folder = sheet.Folder
			}
			if teach != "" {
				if len(list) > 1 {
					return usagef("--lesson is about the whole sheet; leave %q out", list[1])
				}
				return writeLesson(cmd, sheet, folder, teach, force)
			}
			if folder == "" {
				return fmt.Errorf("%s does not say where its tracks are; give --folder", list[0])
			}
			opt := fold.OptionsOf(sheet.Settings)
			if own.path != "" { // else by the habits that the sheet was made with
				if err := own.load(cmd, &opt); err != nil {
					return err
				}
			}
			m.asIn(sheet.Settings.Offsets)
			at, tracks, partial := m.folder(cmd, folder, true)
			if partial != nil && !errors.Is(partial, errPartial) {
				return fmt.Errorf("the sheet is of %s: %w; if the tracks have moved, give --folder", sheet.Folder, partial)
			}
			session, err := fold.Prepare(at, tracks, opt)
			if err != nil {
				return fmt.Errorf("%s, in its settings: %v", list[0], err) // %v: the call is not at fault
			}
			target := ""
			if len(list) > 1 {
				target = list[1]
			}
			if _, track := session.Find(target); track != nil { // for a single track no sums are needed
				sumSheet(cmd, at, sheet)
			}
			x, err := explain.Explain(session, sheet, target)
			if err != nil {
				return err
			}
			for _, track := range x.Unknown {
				warn(cmd, "%s is on the sheet, but not in %s; it is left out", track, folder)
			}
			if err := text.Explanation(cmd.OutOrStdout(), x); err != nil {
				return err
			}
			return partial
		},
	}
	m.register(cmd.Flags())
	own.register(cmd.Flags())
	cmd.Flags().StringVar(&folder, "folder", "", "`FOLDER` where the tracks are now, if they have moved")
	cmd.Flags().BoolVar(&lookup, "glossary", false, "explain the measures instead; a WORD narrows it down")
	cmd.Flags().StringVar(&teach, "lesson", "", "write a lesson on shared channels into this `FOLDER`, made if it does not exist")
	cmd.Flags().BoolVar(&force, "force", false, "replace the files of an earlier lesson")
	cmd.Flags().StringVar(&format, "format", "text", "of the glossary: text or json")
	return cmd
}

var glossaryWriters = map[string]func(io.Writer, []glossary.Term) error{"text": text.Glossary, "json": writeJSON[[]glossary.Term]}

// lookUp lists the terms that fit a word, or all.
func lookUp(w io.Writer, word, format string) error {
	write, ok := glossaryWriters[format]
	if !ok {
		return usagef("--format %s: want text or json", format)
	}
	terms := glossary.Glossary()
	if word != "" {
		if terms = glossary.LookUp(word); len(terms) == 0 {
			var all []string
			for _, t := range glossary.Glossary() {
				all = append(all, t.Word)
			}
			return fmt.Errorf("the glossary has no %q; it has %s", word, strings.Join(all, ", "))
		}
	}
	return write(w, terms)
}
