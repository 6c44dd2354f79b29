//go:build linux

// Command long gives foldout what takes long: a RF64 file of 6 GiB, a plain WAV file beyond 4 GiB whose size wrapped, 64
// channels at 384 kHz, and 500 tracks of ten minutes. The files are sparse: some seconds of sound, then nothing, so that
// they take little room; foldout reads and measures every sample of them all the same.
//
//	go run ./testdata/long                    all of it, half an hour
//	go run ./testdata/long --only rf64        a piece of it: rf64, wrapped, wide, many
//	go run ./testdata/long --tracks 50        fewer than 500 tracks
//
// Each run has to find all frames, in memory that does not grow with the length. It is watched on a terminal: the progress
// shown must never go back, and by how much it differs from the time that has passed is printed. Then it is run again and
// stopped by Ctrl-C at three moments: it must end within half a second, with exit code 130, and leave nothing.
package main

import (
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"

	"github.com/spf13/pflag"
)

func main() {
	only := pflag.String("only", "", "only the runs of this `NAME`")
	tracks := pflag.Int("tracks", 500, "tracks of ten minutes")
	dir := pflag.String("dir", "", "`FOLDER` for the files (default: one for temporary files)")
	pflag.Parse()
	if err := run(*dir, *only, *tracks); err != nil {
		fmt.Fprintf(os.Stderr, "long: %v\n", err)
		os.Exit(1)
	}
}

// job is one run of foldout.
type job struct {
	name     string
	files    []sparse
	args     []string // what follows the folder
	command  string
	memoryMB int // the most it may take
}

func jobs(tracks int) []job {
	second := func(rate, seconds int) int64 { return int64(rate) * int64(seconds) }
	list := []job{
		{name: "rf64", command: "measure", files: []sparse{{name: "Six GiB.wav", rate: 48000, channels: 2, frames: 6 << 30 / 6, head: rf64}}, memoryMB: 60},
		{name: "wrapped", command: "measure", files: []sparse{{name: "Wrapped.wav", rate: 48000, channels: 2, frames: 1<<32/6 + 200, head: wrapped}}, memoryMB: 60},
		{name: "wide", command: "measure", files: []sparse{{name: "Sixty-four.wav", rate: 384000, channels: 64, frames: second(384000, 60), head: rf64}}, memoryMB: 400},
	}
	// What is kept of a track grows a little with its length: some 0.6 MB for ten minutes.
	many := job{name: "many", command: "suggest", args: []string{"--pairs", "8"}, memoryMB: 350}
	for i := range tracks {
		many.files = append(many.files, sparse{name: fmt.Sprintf("Track %03d.wav", i+1), rate: 48000, channels: 1 + i%2, frames: second(48000, 600), head: plain, hz: 50 * float64(i%60+1)})
	}
	return append(list, many)
}

func run(dir, only string, tracks int) error {
	temp, err := os.MkdirTemp(dir, "foldout-long-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(temp)
	foldout := filepath.Join(temp, "foldout")
	if out, err := exec.Command("go", "build", "-o", foldout, "foldout/cmd/foldout").CombinedOutput(); err != nil {
		return fmt.Errorf("building foldout: %w\n%s", err, out)
	}
	var faults []error
	found := false
	for _, j := range jobs(tracks) {
		if only != "" && j.name != only {
			continue
		}
		found = true
		folder := filepath.Join(temp, j.name)
		for _, f := range j.files {
			if err := f.write(folder); err != nil {
				return err
			}
		}
		err := errors.Join(j.whole(foldout, temp, folder), j.stopped(foldout, temp, folder))
		if err != nil {
			fmt.Println("FAULT", err)
			faults = append(faults, err)
		}
		if err := os.RemoveAll(folder); err != nil {
			return err
		}
	}
	if !found {
		return fmt.Errorf("--only %s: no run has this name", only)
	}
	return errors.Join(faults...)
}

// start prepares a run that writes into dir.
func (j *job) start(foldout, temp, folder, dir string) *exec.Cmd {
	cmd := exec.Command(foldout, append([]string{j.command, folder, "--no-cache", "--format", "json", "--out", filepath.Join(dir, "out.json")}, j.args...)...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "XDG_CACHE_HOME="+filepath.Join(temp, "cache"), "XDG_CONFIG_HOME="+filepath.Join(temp, "config"), "TERM=xterm", "TMPDIR="+dir)
	return cmd
}

// whole lets a run come to its end.
func (j *job) whole(foldout, temp, folder string) error {
	dir, err := os.MkdirTemp(temp, "whole-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	cmd := j.start(foldout, temp, folder, dir)
	seen, err := watched(cmd)
	if err != nil {
		return fmt.Errorf("%s: %w\n%s", j.name, err, seen.said)
	}
	usage := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	memory := usage.Maxrss >> 10 // of kilobytes, on Linux
	fmt.Printf("%-8s %6.1f s, %6.1f s of CPU, %4d MB; progress shown %d times, %.0f %% off at most\n", j.name, seen.took.Seconds(),
		(cmd.ProcessState.UserTime() + cmd.ProcessState.SystemTime()).Seconds(), memory, len(seen.marks), seen.worst())
	var faults []error
	if int(memory) > j.memoryMB {
		faults = append(faults, fmt.Errorf("%s: took %d MB, may take %d", j.name, memory, j.memoryMB))
	}
	if back := seen.backwards(); back != "" {
		faults = append(faults, fmt.Errorf("%s: progress went back: %s", j.name, back))
	}
	return errors.Join(append(faults, j.complete(filepath.Join(dir, "out.json")))...)
}

// complete tells whether a result knows every frame of every file.
func (j *job) complete(path string) error {
	content, err := os.ReadFile(path)
	if err != nil {
		return err
	}
	if j.command == "suggest" {
		for _, f := range j.files {
			if !strings.Contains(string(content), f.name) {
				return fmt.Errorf("%s: %s is not in the sheet", j.name, f.name)
			}
		}
		return nil
	}
	var doc struct {
		Tracks []struct {
			Frames   int64 `json:"frames"`
			Channels int   `json:"channels"`
		} `json:"tracks"`
	}
	if err := json.Unmarshal(content, &doc); err != nil {
		return err
	}
	if len(doc.Tracks) != len(j.files) {
		return fmt.Errorf("%s: %d tracks of %d", j.name, len(doc.Tracks), len(j.files))
	}
	for i, f := range j.files {
		if t := doc.Tracks[i]; t.Frames != f.frames || t.Channels != f.channels {
			return fmt.Errorf("%s: %s has %d frames of %d channels, and %d of %d were found", j.name, f.name, f.frames, f.channels, t.Frames, t.Channels)
		}
	}
	return nil
}

// stopped sends Ctrl-C at three moments.
func (j *job) stopped(foldout, temp, folder string) error {
	for _, after := range []time.Duration{200 * time.Millisecond, 2 * time.Second, 7 * time.Second} {
		dir, err := os.MkdirTemp(temp, "stopped-")
		if err != nil {
			return err
		}
		cmd := j.start(foldout, temp, folder, dir)
		if err := cmd.Start(); err != nil {
			return err
		}
		time.Sleep(after)
		begun := time.Now()
		if err := cmd.Process.Signal(os.Interrupt); err != nil {
			return fmt.Errorf("%s: ended before it was stopped: %w", j.name, err)
		}
		cmd.Wait() //nolint:errcheck // the exit code is looked at
		took := time.Since(begun)
		fmt.Printf("%-8s stopped after %v: %v\n", j.name, after, took.Round(time.Millisecond))
		left, err := os.ReadDir(dir)
		switch {
		case err != nil:
			return err
		case took > 500*time.Millisecond:
			return fmt.Errorf("%s: ended %v after Ctrl-C", j.name, took)
		case cmd.ProcessState.ExitCode() != 130:
			return fmt.Errorf("%s: exit code %d after Ctrl-C", j.name, cmd.ProcessState.ExitCode())
		case len(left) > 0:
			return fmt.Errorf("%s: Ctrl-C leaves %s", j.name, left[0].Name())
		}
		if err := os.RemoveAll(dir); err != nil {
			return err
		}
	}
	return nil
}
