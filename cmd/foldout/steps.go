package main

import (
	"fmt"
	"io"
	"strings"
	"time"
	"unicode/utf8"

	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/plan/levels"
	"foldout/plan/rig"
	"foldout/plan/sheet"
	"foldout/plan/steps"
)

// longestNote bounds a note, in characters: a recall sheet is read at a glance.
const longestNote = 1000

var stepWriters = map[string]func(io.Writer, *steps.List) error{"text": text.Steps, "json": writeJSON[*steps.List]}

func newSteps() *cobra.Command {
	var (
		o                           steps.Options
		folder, format, out         string
		html, baseline              string
		notes                       []string
		sameStart, sheetOnly, force bool
	)
	cmd := &cobra.Command{
		Use:   "steps SHEET --rig RIG",
		Short: "The whole session on one page, step by step",
		Long: `steps writes out the way of working for this sheet and this rig: outputs to make and name, buses to route, the return,
why it is the master now, the print track, what to mute, delay, line check, trims and the levels to expect on the
meters, printing, checking, comparing, exporting; with cautions where they belong and a newcomer's questions answered.
At the end stands a recall sheet: every setting to write down, so that the sound comes back next year.

--html, or --out with that extension, writes a page to print, with boxes to tick and lines to fill in.
--note keeps a line in the sheet for the recall sheet; it is printed from then on. --baseline prints beside the blanks
what the last line check measured: a result of foldout trace, kept with --format json --out.

Levels need the tracks; --sheet-only does without. Without --rig it takes a plain one, and says so.`,
		Example: `  foldout steps song.sheet.json --rig studio.toml
  foldout steps song.sheet.json --rig studio.toml --html session.html --baseline unit.json
  foldout steps song.sheet.json --rig studio.toml --note "drive at 3, air switch in"`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			follow(cmd, &format, &out, &html)
			write, ok := stepWriters[format]
			if !ok {
				return usagef("--format %s: want text or json", format)
			}
			if err := free(force, out, html); err != nil {
				return err
			}
			kept, err := notesOf(notes, time.Now())
			if err != nil {
				return err
			}
			if o.Sheet, err = loadSheet(list[0]); err != nil {
				return err
			}
			if baseline != "" {
				if o.Baseline, err = loadTrace(baseline); err != nil {
					return err
				}
			}
			if o.Rig, err = loadRig(cmd, o.RigFile); err != nil {
				return err
			}
			if err := keepNotes(cmd, list[0], o.Sheet, kept); err != nil {
				return err
			}
			o.SheetFile = list[0]
			if !sheetOnly {
				opt := levels.Options{Folder: folder, SameStart: sameStart}
				if err := listenToEnds(cmd, &o, opt); err != nil {
					return fmt.Errorf("%s: %w; --folder says where the tracks are, --sheet-only does without them", list[0], err)
				}
			}
			l, err := steps.Make(o)
			if err != nil {
				return fmt.Errorf("%s: %w", list[0], err)
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, l) }); err != nil || html == "" {
				return err
			}
			return writeOut(cmd, html, force, l.WritePage)
		},
	}
	f := cmd.Flags()
	f.StringVar(&o.RigFile, "rig", "", "rig `FILE`, as foldout rig new writes it")
	f.StringVar(&baseline, "baseline", "", "the last line check, a result of foldout trace as JSON `FILE`")
	f.StringArrayVar(&notes, "note", nil, "keep `TEXT` in the sheet, for the recall sheet (may be repeated)")
	f.StringVar(&folder, "folder", "", "`FOLDER` where the tracks are, if they have moved since the sheet was made")
	f.BoolVar(&sameStart, "same-start", false, "all files begin together, whatever their time references say")
	f.BoolVar(&sheetOnly, "sheet-only", false, "leave out what needs the tracks: levels and length")
	f.StringVar(&format, "format", "text", "text for people, json for machines; else the extension of --out says it")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.StringVar(&html, "html", "", "write a page to print, with boxes to tick, into this `FILE` as well")
	f.BoolVar(&force, "force", false, "replace existing files")
	return cmd
}

// notesOf makes notes of what --note says.
func notesOf(list []string, now time.Time) (notes []sheet.Note, err error) {
	for _, n := range list {
		n = strings.TrimSpace(n)
		switch {
		case n == "":
			return nil, usagef("--note is empty; give what is to be kept, as in --note \"drive at 3\"")
		case !utf8.ValidString(n):
			return nil, usagef("--note is no text in UTF-8")
		case utf8.RuneCountInString(n) > longestNote:
			return nil, usagef("--note has %d characters; want at most %d, or several notes", utf8.RuneCountInString(n), longestNote)
		}
		notes = append(notes, sheet.Note{Date: now.Format(time.DateOnly), Text: n})
	}
	return notes, nil
}

// keepNotes adds notes to a sheet and rewrites its file, before anything that may take long or fail.
func keepNotes(cmd *cobra.Command, path string, doc *sheet.Sheet, notes []sheet.Note) error {
	if len(notes) == 0 {
		return nil
	}
	doc.Notes = append(doc.Notes, notes...)
	err := rewriteSheet(path, func(saved *sheet.Sheet) error {
		saved.Notes = append(saved.Notes, notes...)
		return nil
	})
	if err != nil {
		return err
	}
	for _, n := range notes {
		if err := text.Kept(cmd.ErrOrStderr(), path, n); err != nil {
			return err
		}
	}
	return nil
}

// listenToEnds measures the pairs, and where the sound of all of them begins and ends.
func listenToEnds(cmd *cobra.Command, o *steps.Options, opt levels.Options) (err error) {
	bare := *o.Sheet
	bare.Notes = nil // they change no level: what is remembered stays good
	bar := newBar(cmd.ErrOrStderr(), "summing")
	opt.Progress = bar.set
	o.Levels, err = measureLevels(cmd, &bare, o.Rig, opt)
	bar.finish()
	if err != nil {
		return err
	}
	r := o.Rig
	if r == nil {
		r = rig.Plain(len(bare.Pairs))
	}
	o.Ends, err = steps.FindEnds(cmd.Context(), &bare, o.Levels, r.PanGain(), opt)
	return err
}
