// Command bench measures how fast foldout measures, on a session that it makes itself.
//
//	go run ./examples/bench                                40 tracks of 4 minutes, 100 for the fold, three rounds
//	go run ./examples/bench --short                        6 tracks of 2 minutes, 24 for the fold, one round
//	go run ./examples/bench --material noise --tracks 6    the worst case for the true peak
//
// The session is the same every time: kick, bass, guitar and voice in turn, each mono and then stereo, 48 kHz 24 bit,
// 2.1 GB at full length. It goes to a temporary folder, or to --dir, where it is kept and used again.
//
// First the measuring pass. Each round runs, one after the other, so that all see the same machine:
//
//	foldout            foldout measure DIR --no-cache, a worker on every core
//	foldout, 1 worker  the same with --workers 1
//	foldout, plain Go  the same, built with the tag purego: what processors without AVX2 run
//	ffmpeg             ffmpeg -af ebur128=peak=true, one file at a time on every core: loudness and true peak only
//	libebur128         loudness, range and true peak by that library, where it can be compiled; likewise
//	plain reading      this program reading and unpacking the same bytes, and nothing else
//
// Then what follows from measured tracks: the first suggest, which compares all tracks with one another, and a later one;
// explain, levels, patch and report; stems beside sox -m of the same tracks; and the demo from nothing.
//
// The tables show medians over the rounds of user and system time of the whole process, of the time by the clock, and of
// the largest memory of a process (as getrusage of the finished process tells it). Below the first stand the ratios of CPU
// time, and what two workers gain over one, by the clock. Other work on the machine spoils the time by the clock but
// hardly the CPU time; what two workers would gain on an idle machine is estimated from the CPU times, too: twice the
// CPU time of one worker over that of two.
//
// What is not installed is left out. The foldout measured is built from this module.
package main

import (
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"

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
	short := flags.Bool("short", false, "6 tracks of 2 minutes, 24 of 40 s for the fold, and one round, unless told otherwise")
	many := flags.Int("many", 100, "tracks of 70 s (of 40 s with --short) for the fold and what follows")
	rounds := flags.Int("rounds", 3, "rounds to take the median of")
	flags.IntVar(&s.tracks, "tracks", 40, "tracks, half of them mono, half stereo")
	flags.Float64Var(&s.seconds, "seconds", 240, "length of a track")
	flags.StringVar(&s.material, "material", materialSession, "session, or noise: white noise driven into a limiter")
	if err := flags.Parse(arguments); errors.Is(err, pflag.ErrHelp) {
		return nil
	} else if err != nil {
		return err
	}
	if *short {
		for name, value := range map[string]string{"tracks": "6", "seconds": "120", "rounds": "1", "many": "24"} {
			if !flags.Changed(name) {
				if err := flags.Set(name, value); err != nil {
					return err
				}
			}
		}
	}
	if err := s.check(); err != nil {
		return err
	}
	if *many < 4 {
		return fmt.Errorf("--many %d: want 4 or more", *many)
	}
	if *rounds < 1 {
		return fmt.Errorf("--rounds %d: want 1 or more", *rounds)
	}
	if flags.NArg() > 0 {
		return fmt.Errorf("%q: the folder is named with --dir", flags.Arg(0))
	}
	fold := session{tracks: *many, seconds: 70, material: materialSession}
	if *short {
		fold.seconds = 40
	}
	return bench(s, fold, *dir, *rounds)
}

// bench makes what is missing, measures, and prints.
func bench(s, many session, dir string, rounds int) error {
	temporary, err := os.MkdirTemp("", "foldout-bench-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temporary)
	if dir == "" {
		dir = filepath.Join(temporary, "session")
	}
	foldout, portable := filepath.Join(temporary, "foldout"), filepath.Join(temporary, "foldout-purego")
	for program, tags := range map[string]string{foldout: "", portable: "purego"} {
		if out, err := exec.Command("go", "build", "-tags", tags, "-o", program, "foldout/cmd/foldout").CombinedOutput(); err != nil {
			return fmt.Errorf("building foldout: %w\n%s", err, out)
		}
	}
	fmt.Println(machine())
	fmt.Printf("Measuring %d tracks of %g s (%s), median of %d\n", s.tracks, s.seconds, s.material, rounds)
	if err := measuring(s, filepath.Join(dir, "measured"), temporary, foldout, portable, rounds); err != nil {
		return err
	}
	fmt.Printf("\nThe fold of %d tracks of %g s and what follows, median of %d\n", many.tracks, many.seconds, rounds)
	return following(many, filepath.Join(dir, "folded"), temporary, foldout, rounds)
}

// measuring is the race of the measuring pass.
func measuring(s session, dir, temporary, foldout, portable string, rounds int) error {
	paths, err := s.make(dir)
	if err != nil {
		return err
	}
	self, err := os.Executable()
	if err != nil {
		return err
	}
	measure := func(program string, more ...string) [][]string {
		return [][]string{append([]string{program, "measure", dir, "--no-cache", "--format", "json"}, more...)}
	}
	contestants := []contestant{
		{name: nameFoldout, commands: measure(foldout)},
		{name: nameOneWorker, commands: measure(foldout, "--workers", "1")},
		{name: namePortable, commands: measure(portable)},
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
	if program, err := reference(temporary); err == nil {
		c := contestant{name: nameEBUR128}
		for _, path := range paths {
			c.commands = append(c.commands, []string{program, path})
		}
		contestants = append(contestants, c)
	} else {
		fmt.Printf("libebur128 cannot be compiled, its row is left out: %v\n", err)
	}
	if err := readTracks(paths); err != nil { // so that all find the files in memory, as far as memory goes
		return err
	}
	results, err := race(contestants, rounds)
	if err != nil {
		return err
	}
	printTable(os.Stdout, results)
	printRatios(os.Stdout, results)
	return nil
}
