package main

import (
	"fmt"
	"os"
	"path/filepath"

	"github.com/spf13/cobra"

	"foldout/plan/printcheck"
	"foldout/plan/printcheck/blind"
	"foldout/plan/serve"
)

func newListen() *cobra.Command {
	var noBrowser bool
	cmd := &cobra.Command{
		Use:   "listen DIR | A.wav B.wav",
		Short: "Can you hear it? A blind test of two excerpts in your browser",
		Long: `listen plays two excerpts blind: say whether X is A or B, or which of two you like better. The folder is one that foldout
compare wrote with --out; any two WAV files of equal rate will do, but they should be aligned to the sample, or the jump
when you switch gives the answer away.

Both are brought to equal loudness (0.1 LU). The number of trials, 16 or 25, is fixed before the first; the order is drawn
by the system's random numbers and stays here until the last answer is given; a test that is stopped early is not
evaluated. The result is saved beside the excerpts under a new name, with the exact probability of guessing it and what it
means.

Turn the level down before you start. The page is served by this program, to this computer alone, until Ctrl-C.`,
		Example: `  foldout compare mix.wav print.wav --out ab
  foldout listen ab
  foldout listen first.wav second.wav --no-browser`,
		Args: args(cobra.RangeArgs(1, 2)),
		RunE: func(cmd *cobra.Command, list []string) error {
			a, b, err := excerptsOf(list)
			if err != nil {
				return err
			}
			e, err := blind.Open(a, b)
			if err != nil {
				return err
			}
			for _, n := range e.Notes {
				warn(cmd, "%s", n)
			}
			return serve.Open(cmd.Context(), cmd.OutOrStdout(), blind.NewTest(e).Handler(), noBrowser, "")
		},
	}
	cmd.Flags().BoolVar(&noBrowser, "no-browser", false, "print the address and open no browser")
	return cmd
}

// excerptsOf names the two files of a test.
func excerptsOf(list []string) (a, b string, err error) {
	if len(list) == 2 {
		return list[0], list[1], nil
	}
	st, err := os.Stat(list[0])
	if err != nil {
		return "", "", err
	}
	if !st.IsDir() {
		return "", "", usagef("%s is one file; give the folder that foldout compare wrote with --out, or two files", list[0])
	}
	a, b = filepath.Join(list[0], printcheck.FileA), filepath.Join(list[0], printcheck.FileB)
	for _, path := range []string{a, b} {
		if _, err := os.Stat(path); err != nil {
			return "", "", fmt.Errorf("%s holds no %s; foldout compare MIX PRINT --out DIR makes such a folder", list[0], filepath.Base(path))
		}
	}
	return a, b, nil
}
