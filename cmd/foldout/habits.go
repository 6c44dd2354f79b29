package main

import (
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"
	"github.com/spf13/pflag"

	"foldout/cmd/foldout/text"
	"foldout/plan/fold"
	"foldout/plan/habits"
	"foldout/plan/sheet"
)

// habitual is the flag that says whose habits a fold follows.
type habitual struct{ path string }

func (h *habitual) register(f *pflag.FlagSet) {
	f.StringVar(&h.path, "habits", "", "fold by the habits in this `FILE` (see foldout habits learn; none: by the trade's alone)")
}

// noHabits is what --habits takes for: those of the trade alone.
const noHabits = "none"

// load reads the habits that were asked for. Without the flag they are those that opt has already, from an older sheet;
// else those in the user's config folder, if there are any, which is announced.
func (h *habitual) load(cmd *cobra.Command, opt *fold.Options) (err error) {
	switch h.path {
	case noHabits:
		opt.Habits = nil
		return nil
	case "":
		if opt.Habits != nil {
			return nil
		}
		mine := myHabits()
		opt.Habits, err = habits.Load(mine)
		if mine == "" || errors.Is(err, fs.ErrNotExist) {
			return nil
		}
		if err != nil {
			return fmt.Errorf("%w; mend it, or give --habits %s", err, noHabits)
		}
		warn(cmd, "folding by your habits, %s (learned from %s; --habits %s leaves them out)", mine, sheet.Plural(opt.Habits.Sheets, "sheet", "sheets"), noHabits)
		return nil
	}
	opt.Habits, err = habits.Load(h.path)
	return err
}

// myHabits is the file of the user's own habits, "" where the system has no config folder.
func myHabits() string {
	dir, err := os.UserConfigDir()
	if err != nil {
		return ""
	}
	return filepath.Join(dir, "foldout", "habits.toml")
}

func newHabits() *cobra.Command {
	cmd := &cobra.Command{
		Use:   "habits",
		Short: "Learn from sheets you kept how you group",
		Args:  args(cobra.NoArgs),
		RunE:  func(cmd *cobra.Command, _ []string) error { return cmd.Help() },
	}
	cmd.AddCommand(newHabitsLearn())
	return cmd
}

func newHabitsLearn() *cobra.Command {
	var (
		out   string
		force bool
	)
	cmd := &cobra.Command{
		Use:   "learn SHEET... --out FILE",
		Short: "Learn from sheets you kept or adopted which kinds of track you put on one pair",
		Long: `learn reads sheets that you kept as they are, or made by hand (foldout adopt), and finds out where you group otherwise than the
trade does: who shares a pair with whom, given how many pairs there were. Three sheets that agree are enough; a single
one changes little. A fold that was made by habits and left as it was is no evidence for them and is left out. What was learned is said in words and written as a small file that can be read and edited, for
--habits of suggest, check, adopt, sweep and explain. In the config folder (habits.toml of foldout) it is used without being asked for.

Without --out the file goes to the screen.`,
		Example: `  foldout habits learn song1.json song2.json song3.json --out habits.toml
  foldout suggest "Song 4" --pairs 6 --habits habits.toml`,
		Args: args(cobra.MinimumNArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if err := free(force, out); err != nil {
				return err
			}
			var docs []*sheet.Sheet
			var kept []string
			for n, path := range list {
				for _, before := range list[:n] {
					if sameFile(before, path) {
						return usagef("%s is named twice; one sheet counts once", path)
					}
				}
				doc, err := loadSheet(path)
				if err != nil {
					return err
				}
				switch set := &doc.Settings; {
				case set.ByHand():
				case set.Habits != nil: // what was learned would be learned again from itself
					warn(cmd, "%s was folded by habits and not changed by hand: it shows nothing that is not in them, and is left out", path)
					continue
				default:
					warn(cmd, "%s is a fold of foldout's as it was made; it counts as one that you kept", path)
				}
				docs, kept = append(docs, doc), append(kept, path)
			}
			if len(docs) == 0 {
				return errors.New("there is nothing to learn from folds that were made by habits; give sheets that you adopted, changed, or kept from a fold without them")
			}
			h, report, err := habits.Learn(docs, kept)
			if err != nil {
				return err
			}
			if out == "" {
				return habits.Write(cmd.OutOrStdout(), h, report.Words)
			}
			if mine := myHabits(); sameFile(filepath.Dir(out), filepath.Dir(mine)) || out == mine {
				if err := os.MkdirAll(filepath.Dir(mine), 0o777); err != nil {
					return err
				}
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return habits.Write(w, h, report.Words) }); err != nil {
				return err
			}
			return text.Habits(cmd.OutOrStdout(), report, out, myHabits())
		},
	}
	f := cmd.Flags()
	f.StringVar(&out, "out", "", "write the habits into this `FILE` (TOML)")
	f.BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

// sameFile tells whether two names lead to one file or folder.
func sameFile(a, b string) bool {
	x, errX := os.Stat(a)
	y, errY := os.Stat(b)
	return errX == nil && errY == nil && os.SameFile(x, y)
}
