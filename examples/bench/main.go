// Command bench measures how fast foldout measures, on a session that it makes itself.
//
//	go run ./examples/bench                                40 tracks of 4 minutes, three rounds
//	go run ./examples/bench --tracks 8 --rounds 1          a quick look
//	go run ./examples/bench --material noise --tracks 6    the worst case for the true peak
//
// The session is the same every time: kick, bass, guitar and voice in turn, each mono and then stereo, 48 kHz 24 bit,
// 2.1 GB at full length. It goes to a temporary folder, or to --dir, where it is kept and used again.
//
// Each round runs, one after the other, so that all see the same machine:
//
//	foldout            foldout measure DIR --no-cache, a worker on every core
//	foldout, 1 worker  the same with --workers 1
//	ffmpeg             ffmpeg -af ebur128=peak=true, one file at a time on every core: loudness and true peak only
//	plain reading      this program reading and unpacking the same bytes, and nothing else
//
// The table shows medians over the rounds of user and system time of the whole process, of the time by the clock, and of
// the largest memory of a process (as getrusage of the finished process tells it). Below it stand the ratios of CPU
// time, and what two workers gain over one, by the clock. Other work on the machine spoils the time by the clock but
// hardly the CPU time; what two workers would gain on an idle machine is estimated from the CPU times, too: twice the
// CPU time of one worker over that of two.
//
// Without ffmpeg its row is left out. The foldout measured is built from this module, unless --foldout names another.
package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"

	"github.com/spf13/pflag"
)

// The program runs itself for the work that is to be measured or that needs memory: a process starts with the peak
// memory of the one that started it, so that one must stay small.
const (
	jobMake = "make-track"
	jobRead = "read-tracks"
)

func main() {
	if err := run(os.Args[1:]); err != nil {
		fmt.Fprintf(os.Stderr, "bench: %v\n", err)
		os.Exit(1)
	}
}

// run does what the arguments ask for.
func run(arguments []string) error {
	if len(arguments) > 0 {
		switch arguments[0] {
		case jobMake:
			return makeTrack(arguments[1:])
		case jobRead:
			return readTracks(arguments[1:])
		}
	}
	s := session{}
	flags := pflag.NewFlagSet("bench", pflag.ContinueOnError)
	dir := flags.String("dir", "", "folder of the session, made where missing and kept (default: a temporary one)")
	foldout := flags.String("foldout", "", "the foldout to measure (default: built from this module)")
	rounds := flags.Int("rounds", 3, "rounds to take the median of")
	flags.IntVar(&s.tracks, "tracks", 40, "tracks, half of them mono, half stereo")
	flags.Float64Var(&s.seconds, "seconds", 240, "length of a track")
	flags.StringVar(&s.material, "material", materialSession, "session, or noise: white noise driven into a limiter")
	if err := flags.Parse(arguments); errors.Is(err, pflag.ErrHelp) {
		return nil
	} else if err != nil {
		return err
	}
	if err := s.check(); err != nil {
		return err
	}
	if *rounds < 1 {
		return fmt.Errorf("--rounds %d: want 1 or more", *rounds)
	}
	if flags.NArg() > 0 {
		return fmt.Errorf("%q: the folder is named with --dir", flags.Arg(0))
	}
	return bench(s, *dir, *foldout, *rounds)
}

// bench makes what is missing, measures, and prints.
func bench(s session, dir, foldout string, rounds int) error {
	temporary, err := os.MkdirTemp("", "foldout-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temporary)
	if dir == "" {
		dir = filepath.Join(temporary, "session")
	}
	if foldout == "" {
		foldout = filepath.Join(temporary, "foldout")
		if out, err := exec.Command("go", "build", "-o", foldout, "foldout/cmd/foldout").CombinedOutput(); err != nil {
			return fmt.Errorf("building foldout: %w\n%s", err, out)
		}
	}
	fmt.Printf("%d tracks of %g s (%s), %d cores, median of %d\n", s.tracks, s.seconds, s.material, runtime.NumCPU(), rounds)
	paths, err := s.make(dir)
	if err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return err
	}
	contestants := []contestant{
		{name: nameFoldout, commands: [][]string{{foldout, "measure", dir, "--no-cache", "--format", "json"}}},
		{name: nameOneWorker, commands: [][]string{{foldout, "measure", dir, "--no-cache", "--format", "json", "--workers", "1"}}},
		{name: namePlain, commands: [][]string{append([]string{self, jobRead}, paths...)}},
	}
	if ffmpeg, err := exec.LookPath("ffmpeg"); err == nil {
		c := contestant{name: nameFFmpeg}
		for _, path := range paths {
			c.commands = append(c.commands, []string{ffmpeg, "-hide_banner", "-nostdin", "-nostats", "-loglevel", "error",
				"-i", path, "-af", "ebur128=peak=true", "-f", "null", "-"})
		}
		contestants = append(contestants, c)
	} else {
		fmt.Println("ffmpeg is not installed; its row is left out")
	}
	if err := readTracks(paths); err != nil { // so that all find the files in memory, as far as memory goes
		return err
	}
	results, err := race(contestants, rounds)
	if err != nil {
		return err
	}
	printResults(os.Stdout, results)
	return nil
}
