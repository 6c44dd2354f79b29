package main

import (
	"bufio"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"fmt"
	"os"
	"path/filepath"

	"github.com/inconshreveable/mousetrap"
	"github.com/spf13/cobra"
	"golang.org/x/term"

	"foldout/examples/demo"
	"foldout/features"
	"foldout/features/atomicfile"
	"foldout/plan/fold"
	"foldout/plan/rig"
	"foldout/plan/serve"
	"foldout/plan/sheet"
	"foldout/plan/workbench"
)

func newOpen() *cobra.Command {
	var (
		opt       workbench.Options
		noBrowser bool
		noCache   bool
		rigAt     string
		own       habitual
	)
	cmd := &cobra.Command{
		Use:   "open [FOLDER or SHEET]",
		Short: "See, hear and move the fold in your browser",
		Long: `open shows the workbench in your browser: the tracks of a folder measured and folded, every pair to be heard, every
track to be moved by hand, with what each move changes and why. Levels, patch, stems and the printed page are leaves of it.

Without an argument it asks for a folder, goes on with a recent session, or makes the demo. Every step is kept beside the
folder; the tracks are only read. The page is served by this program, to this computer alone, until Ctrl-C.`,
		Example: `  foldout open
  foldout open "Song stems"
  foldout open song.sheet.json --rig studio.toml
  foldout open "Song stems" --no-browser`,
		Args: args(cobra.MaximumNArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			if cmd.Flags().Changed("pairs") && (opt.Pairs < 1 || opt.Pairs > sheet.MaxPairs) {
				return usagef("--pairs %d: want 1 to %d", opt.Pairs, sheet.MaxPairs)
			}
			if opt.Workers < 0 {
				return usagef("--workers %d: want 0 or more", opt.Workers)
			}
			if rigAt != "" {
				var err error
				if opt.Rig, err = rig.Load(rigAt); err != nil {
					return err
				}
			}
			if !noCache {
				var err error
				if opt.Cache, err = features.OpenCache(""); err != nil {
					warn(cmd, "no cache (%v); measuring anew", err)
				}
			}
			var folding fold.Options
			if err := own.load(cmd, &folding); err != nil {
				return err
			}
			opt.Habits = folding.Habits
			target := ""
			if len(list) > 0 {
				target = list[0]
			}
			return openBench(cmd, opt, target, noBrowser)
		},
	}
	f := cmd.Flags()
	own.register(f)
	f.IntVarP(&opt.Pairs, "pairs", "k", 0, "number of stereo pairs of a first fold (default 4, or those that are free on the rig)")
	f.StringVar(&rigAt, "rig", "", "rig `FILE` (see foldout rig new)")
	f.Uint64Var(&opt.Seed, "seed", 1, "seed of the search")
	f.IntVar(&opt.Workers, "workers", 0, "files measured at a time (0: one per core)")
	f.BoolVar(&noCache, "no-cache", false, "measure anew, do not keep or use earlier measurements")
	f.BoolVar(&noBrowser, "no-browser", false, "print the address and open no browser")
	return cmd
}

// openBench serves the workbench until the command is stopped.
func openBench(cmd *cobra.Command, opt workbench.Options, target string, noBrowser bool) error {
	defer atomicfile.Hold()() // a stop is the usual end here, and the server ends in order
	opt.Version = version
	address := ""
	if dir, err := os.UserConfigDir(); err == nil {
		opt.Recent = filepath.Join(dir, "foldout", "recent.json")
		if address, err = addressFile(filepath.Join(dir, "foldout"), target); err != nil {
			return err
		}
	}
	opt.Demo, opt.Again = benchDemo, "foldout open"
	if target != "" {
		opt.Again += fmt.Sprintf(" %q", target)
	}
	bench, err := workbench.New(opt)
	if err != nil {
		return err
	}
	defer bench.Close()
	if target != "" {
		if err := bench.Open(target); err != nil {
			return err
		}
	}
	return serve.Open(cmd.Context(), cmd.OutOrStdout(), bench.Handler(), noBrowser, address)
}

// addressFile keeps the address of a session, so that a page that is still open goes on when foldout is started again.
func addressFile(dir, target string) (string, error) {
	if target == "" {
		return filepath.Join(dir, "addresses", "none.json"), nil
	}
	abs, err := filepath.Abs(target)
	if err != nil {
		return "", err
	}
	sum := sha256.Sum256([]byte(abs))
	return filepath.Join(dir, "addresses", hex.EncodeToString(sum[:8])+".json"), nil
}

// benchDemo performs the demo song below the user's cache folder, or finds it there.
func benchDemo(ctx context.Context, progress func(done, total int)) (string, error) {
	cache, err := os.UserCacheDir()
	if err != nil {
		return "", fmt.Errorf("no place for the demo: %w", err)
	}
	dir := filepath.Join(cache, "foldout", "demo", demo.Song.Title)
	whole := dir + " is whole" // written last: without it the song was not finished
	if _, err := os.Stat(whole); err == nil {
		return dir, nil
	}
	if err := os.RemoveAll(dir); err != nil { // ours, and unfinished
		return "", err
	}
	if err := os.MkdirAll(dir, 0o755); err != nil {
		return "", err
	}
	if err := demo.Render(ctx, dir, progress); err != nil {
		return "", err
	}
	return dir, os.WriteFile(whole, []byte(version+"\n"), 0o644)
}

// bare is foldout without arguments. Started by a double click there is nobody to type a command, so the workbench opens;
// at a terminal it is offered below the help; in a pipe there is the help alone.
func bare(cmd *cobra.Command) error {
	clicked := mousetrap.StartedByExplorer()
	if !clicked {
		if err := cmd.Help(); err != nil {
			return err
		}
		in, out := cmd.InOrStdin(), cmd.OutOrStdout()
		if !isTerminal(in) || !isTerminal(out) {
			return nil
		}
		if _, err := fmt.Fprint(out, "\nEnter opens the workbench in your browser; Ctrl-C leaves. "); err != nil {
			return err
		}
		if _, err := bufio.NewReader(in).ReadString('\n'); err != nil {
			return nil //nolint:nilerr // nobody answers: the help was all
		}
	}
	var opt workbench.Options
	cache, err := features.OpenCache("")
	if err != nil {
		warn(cmd, "no cache (%v); measuring anew", err)
	}
	opt.Cache = cache
	var folding fold.Options
	if err := new(habitual).load(cmd, &folding); err != nil {
		return err
	}
	opt.Habits = folding.Habits
	return openBench(cmd, opt, "", false)
}

func isTerminal(stream any) bool {
	f, ok := stream.(interface{ Fd() uintptr })
	return ok && term.IsTerminal(int(f.Fd()))
}
