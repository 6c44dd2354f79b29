package main

import (
	"fmt"
	"io"
	"os"
	"path/filepath"
	"strings"
	"time"

	"github.com/schollz/progressbar/v3"
	"github.com/spf13/cobra"
	"github.com/spf13/pflag"
	"golang.org/x/term"

	"foldout/features"
	"foldout/plan/sheet"
)

// measuring holds the flags of every command that measures a folder.
type measuring struct {
	noCache bool
	workers int
	table   string         // of starts, --offsets
	offsets []sheet.Offset // where files begin: of the table, or of an earlier sheet
}

func (m *measuring) register(f *pflag.FlagSet) {
	f.BoolVar(&m.noCache, "no-cache", false, "measure anew, do not keep or use earlier measurements")
	f.IntVar(&m.workers, "workers", 0, "files measured at a time (0: one per core)")
}

// folder measures all audio files below a folder. Files that cannot be read are reported on stderr; the analyses of
// the others are returned, with errPartial if any failed.
func (m *measuring) folder(cmd *cobra.Command, dir string, withSketch bool) (string, []*features.Analysis, error) {
	if m.workers < 0 {
		return "", nil, usagef("--workers %d: want 0 or more", m.workers)
	}
	abs, err := filepath.Abs(dir)
	if err != nil {
		return "", nil, err
	}
	paths, others, err := features.Find(abs)
	if err != nil {
		return "", nil, err
	}
	if len(paths) == 0 {
		return "", nil, nothingIn(dir, others)
	}
	for _, sentence := range features.PassedOver(abs, others) {
		warn(cmd, "%s", sentence)
	}
	given, err := m.starts(abs, paths)
	if err != nil {
		return "", nil, err
	}
	opt := features.Options{Starts: features.Starts(paths, given), Workers: m.workers, WithSketch: withSketch, Folder: abs}
	if !m.noCache {
		if opt.Cache, err = features.OpenCache(""); err != nil {
			warn(cmd, "no cache (%v); measuring anew", err)
		}
	}
	results, err := measureAll(cmd, paths, opt)
	if err != nil {
		return "", nil, err
	}
	if withSketch {
		if results, err = m.lineUp(cmd, abs, paths, given, results, opt); err != nil {
			return "", nil, err
		}
	}
	if opt.Cache != nil && opt.Cache.Err() != nil {
		warn(cmd, "measurements could not be kept: %v", opt.Cache.Err())
	}
	var good []*features.Analysis
	for _, r := range results {
		if r.Err != nil {
			warn(cmd, "%v", r.Err)
			err = errPartial
			continue
		}
		good = append(good, r.Analysis)
	}
	if len(good) == 0 {
		return "", nil, fmt.Errorf("%s: none of the %d audio files could be read", dir, len(results))
	}
	return abs, good, err
}

// measureAll measures files with a bar of progress.
func measureAll(cmd *cobra.Command, paths []string, opt features.Options) ([]features.Result, error) {
	bar := newBar(cmd.ErrOrStderr(), "measuring")
	opt.Progress = bar.set
	results, err := features.MeasureAll(cmd.Context(), paths, opt)
	bar.finish()
	return results, err
}

// nothingIn says that a folder holds no tracks, and what it holds instead.
func nothingIn(dir string, others []string) error {
	if len(others) == 0 {
		return fmt.Errorf("%s: the folder is empty; export the tracks of the mix there, one WAV, AIFF or FLAC file each", dir)
	}
	shown := make([]string, 0, 3)
	for _, path := range others[:min(3, len(others))] {
		shown = append(shown, filepath.Base(path))
	}
	more := ""
	if len(others) > len(shown) {
		more = fmt.Sprintf(" and %d more", len(others)-len(shown))
	}
	return fmt.Errorf("%s: no WAV, AIFF or FLAC files here, only %s%s; export the tracks of the mix as WAV, PCM 24 bit or 32-bit float", dir, strings.Join(shown, ", "), more)
}

// bar shows progress on a terminal once the work has taken a second; elsewhere it is silent.
type bar struct {
	bar   *progressbar.ProgressBar
	out   io.Writer
	what  string
	begun time.Time
	on    bool
}

func newBar(out io.Writer, what string) *bar {
	f, ok := out.(*os.File)
	return &bar{out: out, what: what, begun: time.Now(), on: ok && term.IsTerminal(int(f.Fd()))}
}

func (b *bar) set(done, total int64) {
	if !b.on || b.bar == nil && time.Since(b.begun) < time.Second {
		return
	}
	if b.bar == nil {
		b.bar = progressbar.NewOptions64(total, progressbar.OptionSetWriter(b.out), progressbar.OptionSetDescription(b.what),
			progressbar.OptionShowBytes(true), progressbar.OptionSetWidth(30), progressbar.OptionThrottle(100*time.Millisecond),
			progressbar.OptionClearOnFinish())
	}
	b.bar.Set64(done) //nolint:errcheck // a progress bar that cannot be drawn harms nothing
}

func (b *bar) finish() {
	if b.bar != nil {
		b.bar.Finish() //nolint:errcheck // see set
	}
}
