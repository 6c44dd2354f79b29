//go:build linux

// Command kill tries to make foldout lose or spoil something: it kills it at random moments and at the system calls that
// publish a file, fills the disk under it, takes the folder away, forbids writing, and runs it twice at once.
//
//	go run ./testdata/kill                      200 random kills, every publishing call, and the rest; needs root and strace
//	go run ./testdata/kill --kills 20 --seed 2  fewer, at other moments
//	go run ./testdata/kill --only calls --of stems    a piece of the whole
//
// After each trial every file under its final name has to be whole: the very bytes of an undisturbed run, or those that stood
// there before. The tracks must be as they were, the same command must succeed when it is run again, nothing hidden may be
// left then, and the cache, which all trials share, must give the figures of a run without it.
package main

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"time"

	"github.com/spf13/pflag"

	"foldout/features/wavfile"
)

func main() {
	kills := pflag.Int("kills", 200, "kills at random moments")
	seed := pflag.Uint64("seed", 1, "of the moments")
	only := pflag.String("only", "", "only the trials whose name holds this word: random, calls, full, written, vanishes, two, page")
	of := pflag.String("of", "", "only commands of this `NAME`, such as stems")
	pflag.Parse()
	if err := run(*kills, *seed, *only, *of); err != nil {
		fmt.Fprintf(os.Stderr, "kill: %v\n", err)
		os.Exit(1)
	}
}

// note is kept in a sheet.
const note = "drive at 3"

// stage is what all trials share.
type stage struct {
	dir, foldout, tracks, cache string
	sheet, table, rig           string
	mix, print, tones, back     string
	rng                         *rand.Rand
	faults                      []string
}

func run(kills int, seed uint64, only, of string) error {
	dir, err := os.MkdirTemp("", "foldout-kill-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	s := &stage{dir: dir, foldout: filepath.Join(dir, "foldout"), tracks: filepath.Join(dir, "Song"), cache: filepath.Join(dir, "cache"), rng: rand.New(rand.NewPCG(seed, 1))}
	if err := s.prepare(); err != nil {
		return err
	}
	before := s.sums(s.tracks)
	commands, err := s.commands(of)
	if err != nil {
		return err
	}
	for _, trial := range []struct {
		name string
		run  func([]*command) (int, error)
	}{
		{"killed at random moments", func(c []*command) (int, error) { return s.random(c, kills) }},
		{"killed at system calls that publish", s.calls},
		{"full disk", s.full},
		{"folder that cannot be written", s.readOnly},
		{"folder that vanishes", s.vanish},
		{"two at once", s.twice},
		{"acts on the page", s.acts},
	} {
		if !strings.Contains(trial.name, only) {
			continue
		}
		n, err := trial.run(commands)
		if err != nil {
			return fmt.Errorf("%s: %w", trial.name, err)
		}
		fmt.Printf("%-40s %4d trials\n", trial.name, n)
	}
	s.same("the tracks", before, s.sums(s.tracks))
	kept, plain := s.output("measure", s.tracks, "--format", "csv"), s.output("measure", s.tracks, "--format", "csv", "--no-cache")
	if !bytes.Equal(kept, plain) {
		s.fault("the cache gives other figures than measuring anew")
	}
	fmt.Printf("%d commands, %d faults\n", len(commands), len(s.faults))
	if len(s.faults) > 0 {
		return errors.New("something was lost or spoilt")
	}
	return nil
}

func (s *stage) fault(format string, args ...any) {
	s.faults = append(s.faults, fmt.Sprintf(format, args...))
	fmt.Println("FAULT", s.faults[len(s.faults)-1]) // at once: a long run may be cut short
}

// prepare builds the program and makes a session, a sheet, a table, a rig, a mix and a print of it.
func (s *stage) prepare() error {
	if out, err := exec.Command("go", "build", "-o", s.foldout, "foldout/cmd/foldout").CombinedOutput(); err != nil {
		return fmt.Errorf("building foldout: %w\n%s", err, out)
	}
	for i, name := range []string{"Kick", "Snare", "Bass", "Gtr L", "Gtr R", "Piano", "Vox", "Choir"} {
		if err := writeTone(filepath.Join(s.tracks, name+".wav"), 55*math.Pow(1.5, float64(i)), 12); err != nil {
			return err
		}
	}
	s.sheet, s.table, s.rig = filepath.Join(s.dir, "sheet.json"), filepath.Join(s.dir, "table.csv"), filepath.Join(s.dir, "rig.toml")
	for _, args := range [][]string{
		{"suggest", s.tracks, "--pairs", "3", "--out", s.sheet},
		{"rig", "new", "--out", s.rig, "--outputs", "8"},
		{"stems", s.sheet, "--out", filepath.Join(s.dir, "stems"), "--gain", "-12"},
	} {
		if out, err := s.start(s.dir, args...).CombinedOutput(); err != nil {
			return fmt.Errorf("%v: %w\n%s", args, err, out)
		}
	}
	stems, err := filepath.Glob(filepath.Join(s.dir, "stems", "*.wav"))
	if err != nil || len(stems) == 0 {
		return fmt.Errorf("no stems: %v", err)
	}
	s.mix, s.print = stems[0], stems[0]
	s.tones, s.back = filepath.Join(s.dir, "tones"), filepath.Join(s.dir, "return.wav")
	if out, err := s.start(s.dir, "tones", "--pairs", "2", "--quick", "--out", s.tones).CombinedOutput(); err != nil {
		return fmt.Errorf("tones: %w\n%s", err, out)
	}
	if err := sumFiles(s.back, s.tones); err != nil {
		return err
	}
	return os.WriteFile(s.table, []byte("track,pair\nKick,1\nSnare,1\nBass,1\nGtr L,2\nGtr R,2\nPiano,2\nVox,3\nChoir,1\n"), 0o644)
}

// writeTone writes plucked tones of one pitch.
func writeTone(path string, hz, seconds float64) error {
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: 48000, Channels: 1, Encoding: wavfile.PCM24}, false)
	if err != nil {
		return err
	}
	x := make([]float32, int(48000*seconds))
	for i := range x {
		t := float64(i) / 48000
		x[i] = float32(0.2 * math.Exp(-4*math.Mod(t, 0.5+hz/9000)) * (math.Sin(2*math.Pi*hz*t) + 0.4*math.Sin(4*math.Pi*hz*t)))
	}
	return errors.Join(w.Write([][]float32{x}), w.Close())
}

// sumFiles writes the sum of the files of a folder: the return of a studio in which nothing is wrong.
func sumFiles(path, dir string) error {
	files, err := filepath.Glob(filepath.Join(dir, "*.wav"))
	if err != nil || len(files) == 0 {
		return fmt.Errorf("%s: no tones: %v", dir, err)
	}
	var sum [][]float32
	rate := 0
	for _, file := range files {
		r, err := wavfile.Open(file)
		if err != nil {
			return err
		}
		info := r.Info()
		planes := make([][]float32, info.Channels)
		for c := range planes {
			planes[c] = make([]float32, info.Frames)
		}
		if _, err := r.Read(planes); err != nil && !errors.Is(err, io.EOF) {
			return err
		}
		if err := r.Close(); err != nil {
			return err
		}
		if sum == nil {
			sum, rate = planes, info.SampleRateHz
			continue
		}
		for c, plane := range planes {
			for i, v := range plane {
				sum[c][i] += v
			}
		}
	}
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rate, Channels: len(sum), Encoding: wavfile.PCM24}, false)
	if err != nil {
		return err
	}
	return errors.Join(w.Write(sum), w.Close())
}

// start prepares a run of foldout in a folder, with the cache that all trials share.
func (s *stage) start(dir string, args ...string) *exec.Cmd {
	cmd := exec.Command(s.foldout, args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "XDG_CACHE_HOME="+s.cache, "XDG_CONFIG_HOME="+filepath.Join(s.dir, "config"))
	return cmd
}

func (s *stage) output(args ...string) []byte {
	out, err := s.start(s.dir, args...).Output()
	if err != nil {
		s.fault("%v: %v", args, err)
	}
	return out
}

// command is one way to write files, and what it writes when nobody disturbs it.
type command struct {
	args   []string
	given  map[string]string // files that stand in the folder before, and where they are taken from
	made   string            // the folder that it makes, where another run takes another name
	server bool              // runs until it is stopped
	files  map[string]string
	shaky  map[string]bool // differ from run to run
	takes  time.Duration
}

// give puts the files of the person into the folder of a trial.
func (c *command) give(dir string) error {
	for name, from := range c.given {
		content, err := os.ReadFile(from)
		if err != nil {
			return err
		}
		if err := os.WriteFile(filepath.Join(dir, name), content, 0o644); err != nil {
			return err
		}
	}
	return nil
}

// commands runs every writing command undisturbed, or those of one name.
func (s *stage) commands(of string) ([]*command, error) {
	var list []*command
	for _, args := range [][]string{
		{"measure", s.tracks, "--no-cache", "--out", "m.json", "--format", "json", "--force"},
		{"measure", s.tracks, "--out", "m.csv", "--force"},
		{"suggest", s.tracks, "--pairs", "4", "--out", "s.json", "--html", "s.html", "--force"},
		{"check", s.tracks, "--sheet", s.table, "--out", "c.txt", "--html", "c.html", "--apply", "c.json", "--force"},
		{"adopt", s.tracks, "--sheet", s.table, "--out", "a.json", "--html", "a.html", "--force"},
		{"rename", s.sheet, "--pair", "1=Low", "--out", "r.json", "--force"},
		{"sweep", s.tracks, "--pairs", "1..4", "--out", "w.csv", "--svg", "w.svg", "--force"},
		{"explain", s.sheet, "--lesson", "lesson", "--force"},
		{"rig", "show", s.rig, "--svg", "rig.svg", "--force"},
		{"levels", s.sheet, "--rig", s.rig, "--out", "l.json", "--html", "l.html", "--force"},
		{"patch", s.sheet, "--rig", s.rig, "--out", "p.csv", "--svg", "p.svg", "--html", "p.html", "--force"},
		{"stems", s.sheet, "--out", "stems", "--bus", "--gain", "-12", "--force"},
		{"tones", "--pairs", "2", "--quick", "--out", "tones", "--force"},
		{"compare", s.mix, s.print, "--out", "ab", "--length", "3", "--force"},
		{"report", s.sheet, "--html", "page.html", "--force"},
		{"rig", "new", "--outputs", "8", "--out", "rig.toml"},
		{"habits", "learn", s.sheet, "--out", "habits.toml", "--force"},
		{"steps", s.sheet, "--rig", s.rig, "--out", "steps.json", "--html", "steps.html", "--force"},
		{"steps", "noted.json", "--sheet-only", "--note", note},
		{"trace", s.back, "--tones", s.tones, "--out", "t.json", "--html", "t.html", "--force"},
		{"demo"},
		{"open", s.tracks, "--no-browser", "--no-cache"},
	} {
		if of != "" && args[0] != of {
			continue
		}
		c := &command{args: args, server: args[0] == "open", shaky: map[string]bool{}}
		if args[0] == "demo" {
			c.made = "foldout-demo"
		}
		if slices.Contains(args, "noted.json") {
			c.given = map[string]string{"noted.json": s.sheet}
		}
		if c.server {
			c.takes, c.files = time.Second, map[string]string{}
			list = append(list, c)
			continue
		}
		for range 2 {
			dir, err := os.MkdirTemp(s.dir, "whole-")
			if err != nil {
				return nil, err
			}
			if err := c.give(dir); err != nil {
				return nil, err
			}
			begun := time.Now()
			out, err := s.start(dir, args...).CombinedOutput()
			if err != nil {
				return nil, fmt.Errorf("%v: %w\n%s", args, err, out)
			}
			c.takes = time.Since(begun)
			files := s.sums(dir)
			for name, sum := range c.files {
				c.shaky[name] = files[name] != sum
			}
			c.files = files
		}
		if len(c.files) == 0 {
			return nil, fmt.Errorf("%v wrote nothing", args)
		}
		list = append(list, c)
	}
	if len(list) == 0 {
		return nil, fmt.Errorf("--of %s: no command that writes has this name", of)
	}
	return list, nil
}
