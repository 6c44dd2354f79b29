//go:build unix

package main

import (
	"bytes"
	"context"
	"errors"
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"syscall"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// program prepares a run of the program in dir. What hangs is killed after half a minute.
func program(t *testing.T, dir string, args ...string) *exec.Cmd {
	t.Helper()
	ctx, cancel := context.WithTimeout(t.Context(), 30*time.Second)
	t.Cleanup(cancel)
	cmd := exec.CommandContext(ctx, os.Args[0], args...)
	cmd.Dir = dir
	cmd.Env = append(os.Environ(), "FOLDOUT_TEST_AS_PROGRAM=1", "XDG_CACHE_HOME="+t.TempDir())
	return cmd
}

// Exit codes: 128 and the number of the signal, as POSIX shells report a command that a signal ended.
func TestSignalsEndWhatWaitsOrComputes(t *testing.T) {
	dir := t.TempDir()
	pipe := filepath.Join(t.TempDir(), "pipe")
	require.NoError(t, syscall.Mkfifo(pipe, 0o600))
	tracks := smallSession(t)
	for _, c := range []struct {
		args   []string
		signal syscall.Signal
		code   int
		says   string // before the signal is sent
	}{
		{[]string{"rig", "new", "--out", "studio.toml"}, syscall.SIGINT, 130, "What shall"},
		{[]string{"rig", "new", "--out", "studio.toml"}, syscall.SIGTERM, 143, "What shall"},
		{[]string{"demo"}, syscall.SIGINT, 130, "invented"},
		{[]string{"demo", "--out", "song"}, syscall.SIGTERM, 143, "invented"},
		{[]string{"suggest", tracks, "--like", pipe}, syscall.SIGINT, 130, ""},
		{[]string{"sweep", tracks, "--habits", pipe}, syscall.SIGINT, 130, ""},
		{[]string{"levels", pipe}, syscall.SIGTERM, 143, ""},
		{[]string{"check", tracks, "--sheet", pipe}, syscall.SIGINT, 130, ""},
	} {
		cmd := program(t, dir, c.args...)
		_, err := cmd.StdinPipe() // stays open: nobody answers
		require.NoError(t, err)
		out, err := cmd.StdoutPipe()
		require.NoError(t, err)
		cmd.Stderr = cmd.Stdout // questions go there
		require.NoError(t, cmd.Start())
		var said []byte
		if c.says == "" {
			hold, err := os.OpenFile(pipe, os.O_WRONLY|syscall.O_NONBLOCK, 0)
			for ; errors.Is(err, syscall.ENXIO); hold, err = os.OpenFile(pipe, os.O_WRONLY|syscall.O_NONBLOCK, 0) {
				time.Sleep(10 * time.Millisecond) // nobody reads yet
			}
			require.NoError(t, err, c.args)
			defer hold.Close()
		}
		for one := make([]byte, 1); !bytes.Contains(said, []byte(c.says)); said = append(said, one[0]) {
			_, err := io.ReadFull(out, one)
			require.NoError(t, err, "%v said %s", c.args, said)
		}
		require.NoError(t, cmd.Process.Signal(c.signal))
		rest, err := io.ReadAll(out)
		require.NoError(t, err)
		err = cmd.Wait()
		assert.Equal(t, c.code, cmd.ProcessState.ExitCode(), "%v: %v", c.args, err)
		assert.Contains(t, string(rest), "stopped", c.args)
		left, err := os.ReadDir(dir)
		require.NoError(t, err)
		assert.Empty(t, left, c.args)
	}
}

func TestAFullDiskIsSaid(t *testing.T) {
	full, err := os.OpenFile("/dev/full", os.O_WRONLY, 0)
	if err != nil {
		t.Skip("this system has no /dev/full")
	}
	defer full.Close()
	for _, args := range [][]string{{"cache"}, {"--help"}, {"suggest", "--help"}, {"--version"}, {"completion", "bash"}, {"explain", "--glossary"}} {
		cmd := program(t, t.TempDir(), args...)
		cmd.Stdout = full
		require.Error(t, cmd.Run(), args)
		assert.Equal(t, exitCould, cmd.ProcessState.ExitCode(), args)
	}
}

// Sixty tracks are summed where a process may have twenty-four files open.
func TestStemsWithFewOpenFiles(t *testing.T) {
	dir := t.TempDir()
	var tracks []string
	for i := range 60 {
		name := fmt.Sprintf("T%02d.wav", i)
		writeTrack(t, filepath.Join(dir, name), notes(0.5, 55+float64(i)))
		tracks = append(tracks, `{"file":"`+name+`"}`)
	}
	sheet := keep(t, "s.json", `{"schema":2,"pairs":[{"name":"Low","tracks":[`+strings.Join(tracks[:30], ",")+`]},{"name":"High","tracks":[`+strings.Join(tracks[30:], ",")+`]}]}`)
	at := t.TempDir()
	plenty, few := program(t, at, "stems", sheet, "--folder", dir, "--out", "plenty", "--gain", "-40"), program(t, at, "stems", sheet, "--folder", dir, "--out", "few", "--gain", "-40")
	few.Args = append([]string{"sh", "-c", `ulimit -n 24; exec "$0" "$@"`}, few.Args...)
	few.Path = "/bin/sh"
	for _, cmd := range []*exec.Cmd{plenty, few} {
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	files, err := os.ReadDir(filepath.Join(at, "plenty"))
	require.NoError(t, err)
	require.NotEmpty(t, files)
	for _, f := range files {
		a, err := os.ReadFile(filepath.Join(at, "plenty", f.Name()))
		require.NoError(t, err)
		b, err := os.ReadFile(filepath.Join(at, "few", f.Name()))
		require.NoError(t, err)
		assert.True(t, bytes.Equal(a, b), f.Name())
	}
}

// Files and folders have the rights that the person's umask leaves, as POSIX asks of every program.
func TestTheUmaskIsHonoured(t *testing.T) {
	at := t.TempDir()
	tracks := smallSession(t)
	for _, args := range [][]string{{"rig", "new", "--out", "rig.toml", "--outputs", "8"}, {"suggest", tracks, "--pairs", "2", "--out", "s.json"}, {"stems", "s.json", "--out", "stems"}} {
		cmd := program(t, at, args...)
		cmd.Args = append([]string{"sh", "-c", `umask 027; exec "$0" "$@"`}, cmd.Args...)
		cmd.Path = "/bin/sh"
		out, err := cmd.CombinedOutput()
		require.NoError(t, err, "%s", out)
	}
	require.NoError(t, filepath.WalkDir(at, func(path string, d fs.DirEntry, err error) error {
		require.NoError(t, err)
		info, err := d.Info()
		require.NoError(t, err)
		if path != at {
			assert.Equal(t, map[bool]fs.FileMode{true: 0o750, false: 0o640}[d.IsDir()], info.Mode().Perm(), path)
		}
		return nil
	}))
}

// Two tracks whose names differ in case or in how an accent is written stay two from folder to stems.
func TestTwinsByNameGoThroughEverything(t *testing.T) {
	dir, at := t.TempDir(), t.TempDir()
	names := []string{"Kick.wav", "kick.wav", "Caf\u00e9.wav", "Cafe\u0301.wav"}
	for i, name := range names {
		writeTrack(t, filepath.Join(dir, name), notes(2, 55*float64(i+1)))
	}
	if entries, err := os.ReadDir(dir); err != nil || len(entries) < len(names) {
		t.Skip("this system takes such names for one")
	}
	run := func(want string, args ...string) {
		t.Helper()
		out, err := program(t, at, args...).CombinedOutput()
		require.NoError(t, err, "%v: %s", args, out)
		assert.Contains(t, string(out), want)
	}
	run("", "suggest", dir, "--pairs", "2", "--out", "s.json")
	run("Kick", "explain", "s.json")
	for _, name := range names {
		run(strings.TrimSuffix(name, ".wav"), "explain", "s.json", name)
	}
	run("", "stems", "s.json", "--out", "stems", "--gain", "-20")
	run("", "levels", "s.json")
}
