package main

import (
	"errors"
	"fmt"
	"io"
	"os"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"

	"foldout/cmd/foldout/text"
	"foldout/examples/demo"
	"foldout/features/atomicfile"
	"foldout/plan/fold"
	"foldout/plan/sheet"
)

func newDemo() *cobra.Command {
	var (
		m      measuring
		out    string
		studio bool
	)
	cmd := &cobra.Command{
		Use:   "demo",
		Short: "Make an invented song and fold it onto 4 and onto 8 pairs",
		Long: fmt.Sprintf(`demo performs an invented song, %q by %s, writes its %d tracks as WAV files
(%.0f s, %d kHz, 24 bit) into a new folder, and does with them what suggest does with yours: measures every track and
folds them onto 4 and then onto 8 stereo pairs, with reasons. Beside the folder it writes the mix and a grouping made by
hand with two mistakes for foldout check. --studio shows the rest of the job on an invented studio: test tones, the
recorded return with two faults, the print.

The demo is folded as the trade does, whatever your habits are. Every sound is computed, so the tracks may be used freely for trying things out. The folder has to be new or empty.`,
			demo.Song.Title, demo.Song.Artist, len(demo.Song.Tracks), demo.Song.DurationS, demo.Song.SampleRateHz/1000),
		Example: `  foldout demo
  foldout demo --out ~/songs/demo`,
		Args: args(cobra.NoArgs),
		RunE: func(cmd *cobra.Command, _ []string) error {
			return runDemo(cmd, &m, out, studio)
		},
	}
	m.register(cmd.Flags())
	cmd.Flags().StringVar(&out, "out", "", "`FOLDER` for the tracks, new or empty (default foldout-demo here, or foldout-demo-2 ...)")
	cmd.Flags().BoolVar(&studio, "studio", false, "also run a line check with two planted faults and a print through an invented studio")
	return cmd
}

func runDemo(cmd *cobra.Command, m *measuring, out string, studio bool) error {
	dir, err := demoFolder(out, studio)
	if err != nil {
		return err
	}
	w := cmd.OutOrStdout()
	fmt.Fprintf(w, "%q by %s, invented: %d tracks go to %s\n", demo.Song.Title, demo.Song.Artist, len(demo.Song.Tracks), dir)
	bar := newTrackBar(cmd.ErrOrStderr(), len(demo.Song.Tracks))
	song, err := atomicfile.CreateFolder(dir)
	if err != nil {
		return err
	}
	err = demo.Render(cmd.Context(), song.Temp, func(done, total int) { bar.set(int64(done), int64(total)) })
	bar.finish()
	if err != nil {
		return errors.Join(fmt.Errorf("%s: the song is not complete: %w", dir, err), song.Abort())
	}
	if err := song.Commit(); err != nil {
		return err
	}
	folder, tracks, err := m.folder(cmd, dir, true)
	if err != nil {
		return err
	}
	var first *sheet.Sheet
	for _, pairs := range []int{4, 8} {
		session, err := fold.Prepare(folder, tracks, fold.Options{Pairs: pairs, Seed: 1, Version: version})
		if err != nil {
			return err
		}
		sheet, err := session.Suggest()
		if err != nil {
			return err
		}
		if first == nil {
			first = sheet
		}
		for _, warning := range sheet.Warnings {
			warn(cmd, "%s", warning)
		}
		fmt.Fprintln(w)
		if err := text.Sheet(w, sheet); err != nil {
			return err
		}
	}
	if err := demoBeside(cmd, dir, first); err != nil {
		return err
	}
	if studio {
		if err := demoStudio(cmd, dir, first); err != nil {
			return err
		}
	}
	return text.Next(w, dir, studio)
}

// newTrackBar is a bar that counts tracks.
func newTrackBar(out io.Writer, tracks int) *bar {
	b := newBar(out, "performing")
	if b.on {
		b.bar = progressbar.NewOptions(tracks, progressbar.OptionSetWriter(out), progressbar.OptionSetDescription(b.what),
			progressbar.OptionShowCount(), progressbar.OptionSetWidth(30), progressbar.OptionClearOnFinish())
	}
	return b
}

// demoFolder chooses the folder for the tracks. A folder that was asked for has to be new or empty; without one, the
// first name is taken that is free or that of an empty folder.
func demoFolder(out string, studio bool) (string, error) {
	if out != "" {
		return out, demoPlace(out, studio)
	}
	for n := 1; ; n++ {
		dir := "foldout-demo"
		if n > 1 {
			dir = fmt.Sprintf("foldout-demo-%d", n)
		}
		if demoPlace(dir, studio) == nil {
			return dir, nil
		}
		if n == mostDemos {
			return "", demoPlace(dir, studio)
		}
	}
}

// mostDemos is how many names are tried before it is the place that must be wrong.
const mostDemos = 1000

// demoPlace tells whether the demo can be written to dir and beside it; it looks before anything is computed.
func demoPlace(dir string, studio bool) error {
	if err := newOrEmpty(dir); err != nil {
		return err
	}
	beside := []string{"-by-hand.csv", "-mix.wav"}
	if studio {
		beside = append(beside, "-tones", "-return.wav", "-print.wav")
	}
	for _, end := range beside {
		if _, err := os.Lstat(dir + end); err == nil {
			return fmt.Errorf("%s is there already, and the demo writes it beside its tracks; choose another --out, nothing was touched", dir+end)
		}
	}
	return nil
}

func newOrEmpty(dir string) error {
	entries, err := os.ReadDir(dir)
	switch {
	case errors.Is(err, os.ErrNotExist):
		return nil
	case err != nil:
		return err
	case len(entries) > 0:
		return fmt.Errorf("%s is not empty; choose a new or an empty folder, nothing in it was touched", dir)
	}
	return nil
}
