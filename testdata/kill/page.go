//go:build linux

package main

import (
	"bufio"
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io"
	"net/http"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"time"
)

// acts kills the workbench while acts come in, at random moments and at the calls that keep an act. Started again it has
// to know every act that was answered, and what it keeps beside the folder has to be read.
func (s *stage) acts(commands []*command) (int, error) {
	n := 0
	for _, c := range commands {
		if !c.server {
			continue
		}
		for range 12 {
			if err := s.actsKilled(fmt.Sprintf("a kill after %d acts and a moment", n%5), n%5); err != nil {
				return n, err
			}
			n++
		}
		// An act is one write and one fsync of the journal. The fsyncs before the first act are those of the cache.
		for at := 1; at <= 16; at += 3 {
			if err := s.actsKilled(fmt.Sprintf("a kill at fsync %d", at), -1, "-e", "trace=fsync", "-e", fmt.Sprintf("inject=fsync:signal=KILL:when=%d", at)); err != nil {
				return n, err
			}
			n++
		}
	}
	return n, nil
}

// actsKilled names a pair again and again until the program is killed: by a call, or by hand once so many acts are done.
func (s *stage) actsKilled(how string, done int, inject ...string) error {
	dir, err := os.MkdirTemp(s.dir, "page-")
	if err != nil {
		return err
	}
	defer os.RemoveAll(dir)
	folder := filepath.Join(dir, "Song")
	if err := os.CopyFS(folder, os.DirFS(s.tracks)); err != nil {
		return err
	}
	cmd := s.start(dir, "open", folder, "--no-browser")
	if len(inject) > 0 {
		traced := exec.Command("strace", append(append([]string{"-f", "--seccomp-bpf", "-o", "/dev/null"}, inject...), cmd.Args...)...)
		traced.Dir, traced.Env = cmd.Dir, cmd.Env
		cmd = traced
	}
	cmd.SysProcAttr = &syscall.SysProcAttr{Setpgid: true}              // strace and what it watches end together
	kill := func() { syscall.Kill(-cmd.Process.Pid, syscall.SIGKILL) } //nolint:errcheck // it may have ended
	page, err := serveIn(cmd)
	if err != nil {
		return err
	}
	named := ""
	for n := 1; ; n++ {
		if n == done+1 {
			wait := time.Duration(s.rng.Float64() * float64(4*time.Millisecond))
			time.AfterFunc(wait, kill)
		}
		if n > 400 {
			kill() // it makes no such call so often
			break
		}
		name := fmt.Sprintf("Name %d", n)
		state, err := page.post("act", map[string]any{"do": "name pair", "pair": 1, "text": name})
		if err != nil {
			break // killed
		}
		if state != name {
			s.fault("%s: the page is told that pair 1 is called %q, not %q", how, state, name)
		}
		named = name
	}
	cmd.Wait() //nolint:errcheck // killed
	again, err := serveIn(s.start(dir, "open", folder, "--no-browser"))
	if err != nil {
		s.fault("%s: it does not start again: %v", how, err)
		return nil
	}
	defer again.stop()
	state, err := again.get()
	if err != nil {
		s.fault("%s: started again it has no session: %v", how, err)
		return nil
	}
	var before, next int
	fmt.Sscanf(named, "Name %d", &before) //nolint:errcheck // 0 before the first act
	fmt.Sscanf(state, "Name %d", &next)   //nolint:errcheck // likewise
	if next != before && next != before+1 {
		s.fault("%s: pair 1 was called %q and is called %q when started again", how, named, state)
	}
	s.same("the tracks of the page", s.sums(s.tracks), s.sums(folder))
	return nil
}

// bench is a running workbench.
type bench struct {
	cmd     *exec.Cmd
	address string
}

// serveIn starts a workbench and waits until it is reached.
func serveIn(cmd *exec.Cmd) (*bench, error) {
	out, err := cmd.StdoutPipe()
	if err != nil {
		return nil, err
	}
	if err := cmd.Start(); err != nil {
		return nil, err
	}
	b := &bench{cmd: cmd}
	lines := bufio.NewScanner(out)
	for lines.Scan() {
		if strings.HasPrefix(lines.Text(), "http://") {
			b.address = lines.Text()
			break
		}
	}
	go io.Copy(io.Discard, out) //nolint:errcheck // it ends with the program
	if b.address == "" {
		return nil, errors.Join(errors.New("no address was printed"), cmd.Wait())
	}
	return b, nil
}

func (b *bench) stop() {
	b.cmd.Process.Kill() //nolint:errcheck // it may have ended
	b.cmd.Wait()         //nolint:errcheck // likewise
}

// post asks for something and returns what pair 1 is called then. It asks again while the session is being opened.
func (b *bench) post(what string, in any) (string, error) {
	body, err := json.Marshal(in)
	if err != nil {
		return "", err
	}
	if _, err := b.get(); err != nil {
		return "", err
	}
	r, err := http.Post(b.address+what, "application/json", bytes.NewReader(body))
	if err != nil {
		return "", err
	}
	return named(r)
}

// get waits until a session is open and returns what pair 1 is called.
func (b *bench) get() (string, error) {
	for range 600 {
		r, err := http.Get(b.address + "state")
		if err != nil {
			return "", err
		}
		name, err := named(r)
		if err == nil {
			return name, nil
		}
		time.Sleep(20 * time.Millisecond)
	}
	return "", errors.New("no session after twelve seconds")
}

func named(r *http.Response) (string, error) {
	defer r.Body.Close()
	var state struct {
		Session *struct {
			Lanes []struct {
				Name string `json:"name"`
			} `json:"lanes"`
		} `json:"session"`
	}
	if err := json.NewDecoder(r.Body).Decode(&state); err != nil {
		return "", err
	}
	if r.StatusCode != http.StatusOK || state.Session == nil || len(state.Session.Lanes) == 0 {
		return "", fmt.Errorf("status %d without a session", r.StatusCode)
	}
	return state.Session.Lanes[0].Name, nil
}
