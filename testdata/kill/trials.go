//go:build linux

package main

import (
	"crypto/sha256"
	"fmt"
	"io/fs"
	"maps"
	"os"
	"os/exec"
	"path/filepath"
	"slices"
	"strings"
	"syscall"
	"time"
)

// sums lists the files below a folder with a digest each.
func (s *stage) sums(dir string) map[string]string {
	out := map[string]string{}
	filepath.WalkDir(dir, func(path string, d fs.DirEntry, err error) error { //nolint:errcheck // what cannot be read is missing
		if err != nil || d.IsDir() {
			return nil
		}
		content, err := os.ReadFile(path)
		if name, relErr := filepath.Rel(dir, path); err == nil && relErr == nil {
			out[name] = fmt.Sprintf("%d bytes %x", len(content), sha256.Sum256(content))
		}
		return nil
	})
	return out
}

// same compares two lists of files.
func (s *stage) same(what string, a, b map[string]string) {
	for name, sum := range a {
		if b[name] != sum {
			s.fault("%s: %s was %s and is %q", what, name, sum, b[name])
		}
	}
}

// hidden tells whether a file is on its way, under a temporary name.
func hidden(name string) bool { return strings.Contains(filepath.ToSlash("/"+name), "/.foldout-") }

// whole looks at what a disturbed run has left: whole files, or what stood there before.
func (s *stage) whole(c *command, how, dir string, before map[string]string) {
	now := s.sums(dir)
	for name, sum := range now {
		if c.made != "" { // two at once take two names
			name = strings.Replace(name, c.made+"-2", c.made, 1)
		}
		switch {
		case hidden(name), sum == c.files[name], sum == before[name]:
		case c.shaky[name] && !strings.HasPrefix(sum, "0 bytes"):
		default:
			s.fault("%v, %s: %s is %s; an undisturbed run makes %q", c.args, how, name, sum, c.files[name])
		}
	}
	for name := range before {
		if _, ok := now[name]; !ok {
			s.fault("%v, %s: %s, which was there before, is gone", c.args, how, name)
		}
	}
}

// again runs the command undisturbed where it was disturbed.
func (s *stage) again(c *command, how, dir string) {
	if c.server {
		return
	}
	if !slices.Contains(c.args, "--force") && len(c.files) == 1 && c.given == nil {
		if now := s.sums(dir); maps.Equal(now, c.files) {
			return // made whole; what replaces nothing refuses to make it again
		}
	}
	made := c.made
	if _, err := os.Stat(filepath.Join(dir, made)); made != "" && err == nil {
		made += "-2" // what replaces nothing takes another name
	}
	if out, err := s.start(dir, c.args...).CombinedOutput(); err != nil {
		s.fault("%v, run again after %s: %v\n%s", c.args, how, err, out)
		return
	}
	now := s.sums(dir)
	for name := range c.files {
		if c.made != "" {
			name = made + strings.TrimPrefix(name, c.made)
		}
		if _, ok := now[name]; !ok {
			s.fault("%v, run again after %s: %s is missing", c.args, how, name)
		}
	}
	for name := range now {
		if hidden(name) {
			s.fault("%v, run again after %s: %s is left for ever", c.args, how, name)
		}
	}
}

// place makes the folder of a trial; every other one holds earlier results, which are to be replaced.
func (s *stage) place(c *command, trial int) (string, map[string]string, error) {
	dir, err := os.MkdirTemp(s.dir, "trial-")
	if err != nil {
		return dir, nil, err
	}
	if err := c.give(dir); err != nil {
		return dir, nil, err
	}
	if trial%2 == 0 || !slices.Contains(c.args, "--force") {
		return dir, s.sums(dir), nil
	}
	for name := range c.files {
		if strings.ContainsRune(name, filepath.Separator) {
			continue // a folder of sound is made anew
		}
		if err := os.WriteFile(filepath.Join(dir, name), []byte("mine\n"), 0o644); err != nil {
			return dir, nil, err
		}
	}
	return dir, s.sums(dir), nil
}

// random kills each command in turn at random moments.
func (s *stage) random(commands []*command, kills int) (int, error) {
	for n := range kills {
		c := commands[n%len(commands)]
		dir, before, err := s.place(c, n/len(commands))
		if err != nil {
			return n, err
		}
		cmd := s.start(dir, c.args...)
		if err := cmd.Start(); err != nil {
			return n, err
		}
		after := time.Duration(s.rng.Float64() * 1.05 * float64(c.takes))
		time.Sleep(after)
		cmd.Process.Kill() //nolint:errcheck // it may have ended
		cmd.Wait()         //nolint:errcheck // killed, or not
		how := fmt.Sprintf("a kill after %v", after)
		s.whole(c, how, dir, before)
		s.again(c, how, dir)
		if err := os.RemoveAll(dir); err != nil {
			return n, err
		}
	}
	return kills, nil
}

// calls kills each command at the first, second ... call of each kind by which files are made, named or removed.
func (s *stage) calls(commands []*command) (int, error) {
	n := 0
	for _, c := range commands {
		if c.server {
			continue
		}
		for _, call := range []string{"renameat2", "renameat", "linkat", "fsync", "mkdirat", "unlinkat", "fchmod"} {
			for at := 1; at <= 3; at++ {
				dir, before, err := s.place(c, n)
				if err != nil {
					return n, err
				}
				cmd := s.start(dir, c.args...)
				traced := exec.Command("strace", append([]string{"-f", "--seccomp-bpf", "-o", "/dev/null", "-e", "trace=" + call, "-e",
					fmt.Sprintf("inject=%s:signal=KILL:when=%d", call, at), s.foldout}, c.args...)...)
				traced.Dir, traced.Env = cmd.Dir, cmd.Env
				runErr := traced.Run()
				how := fmt.Sprintf("a kill at call %d of %s", at, call)
				s.whole(c, how, dir, before)
				if runErr != nil {
					n++
					s.again(c, how, dir)
				}
				if err := os.RemoveAll(dir); err != nil {
					return n, err
				}
				if runErr == nil {
					break // it makes no such call so often
				}
			}
		}
	}
	return n, nil
}

// full runs each command on a disk that has room for nothing but names.
func (s *stage) full(commands []*command) (int, error) { return s.mounted(commands, "size=8k", 0) }

// readOnly runs each command in a folder that cannot be written.
func (s *stage) readOnly(commands []*command) (int, error) {
	return s.mounted(commands, "size=1m", syscall.MS_RDONLY)
}

// mounted runs each command on a file system of its own, where it has to fail, say so and leave nothing.
func (s *stage) mounted(commands []*command, options string, flags uintptr) (int, error) {
	n := 0
	for _, c := range commands {
		if c.server {
			continue
		}
		dir, err := os.MkdirTemp(s.dir, "disk-")
		if err != nil {
			return n, err
		}
		if err := syscall.Mount("tmpfs", dir, "tmpfs", flags, options); err != nil {
			return n, fmt.Errorf("a small disk cannot be made: %w", err)
		}
		out, err := s.start(dir, c.args...).CombinedOutput()
		n++
		left := s.sums(dir)
		if unmountErr := syscall.Unmount(dir, 0); unmountErr != nil {
			return n, unmountErr
		}
		small := true
		for name, sum := range left {
			if sum != c.files[name] && !c.shaky[name] {
				s.fault("%v on such a disk leaves %s, %s", c.args, name, sum)
			}
			small = small && err == nil
		}
		exit, failed := err.(*exec.ExitError)
		switch {
		case err == nil && len(left) == len(c.files) && small: // it fits
		case !failed:
			s.fault("%v on such a disk ends well", c.args)
		case exit.ExitCode() != 1 || !strings.Contains(string(out), "foldout: "):
			s.fault("%v on such a disk ends with %v: %s", c.args, err, out)
		}
	}
	return n, nil
}

// vanish takes the folder away at a random moment.
func (s *stage) vanish(commands []*command) (int, error) {
	n := 0
	for _, c := range commands {
		if c.server {
			continue
		}
		dir, _, err := s.place(c, 0)
		if err != nil {
			return n, err
		}
		cmd := s.start(dir, c.args...)
		var said strings.Builder
		cmd.Stderr = &said
		if err := cmd.Start(); err != nil {
			return n, err
		}
		time.Sleep(time.Duration(s.rng.Float64() * float64(c.takes)))
		os.RemoveAll(dir) //nolint:errcheck // the command may be writing there
		err = cmd.Wait()
		n++
		if strings.Contains(said.String(), "goroutine") {
			s.fault("%v in a folder that vanishes: %v\n%s", c.args, err, said.String())
		}
		os.RemoveAll(dir) //nolint:errcheck // what it made since
	}
	return n, nil
}

// twice runs each command two times at once in one folder: both whole, or one of them refused.
func (s *stage) twice(commands []*command) (int, error) {
	n := 0
	for _, c := range commands {
		if c.server {
			continue
		}
		dir, before, err := s.place(c, 0)
		if err != nil {
			return n, err
		}
		a, b := s.start(dir, c.args...), s.start(dir, c.args...)
		if err := a.Start(); err != nil {
			return n, err
		}
		if err := b.Start(); err != nil {
			return n, err
		}
		errA, errB := a.Wait(), b.Wait()
		n++
		if errA != nil && errB != nil {
			s.fault("%v twice at once: neither succeeds: %v, %v", c.args, errA, errB)
		}
		if c.given == nil {
			s.whole(c, "twice at once", dir, before)
		}
		for name := range c.given { // what both change holds the changes of both
			content, err := os.ReadFile(filepath.Join(dir, name))
			if n := strings.Count(string(content), note); err != nil || n != 2 {
				s.fault("%v twice at once: %s has %d notes of two (%v)", c.args, name, n, err)
			}
		}
		s.again(c, "twice at once", dir)
		if err := os.RemoveAll(dir); err != nil {
			return n, err
		}
	}
	return n, nil
}
