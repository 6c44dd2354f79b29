package main

import (
	"errors"
	"os"
	"os/exec"
	"path/filepath"
	"strconv"
	"strings"
	"sync"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/rogpeppe/go-internal/testscript"
	"github.com/stretchr/testify/require"

	"foldout/testdata/underrace"
)

// TestMain lets the tests start this program as a process of its own: in scripts as foldout, and for signals.
func TestMain(m *testing.M) {
	if os.Getenv("FOLDOUT_TEST_AS_PROGRAM") != "" {
		main()
	}
	if filepath.Base(os.Args[0]) != "foldout" { // whoever runs the tests may have habits of their own
		os.Setenv("XDG_CONFIG_HOME", filepath.Join(os.TempDir(), "foldout-tests-have-no-habits"))
	}
	testscript.Main(m, map[string]func(){"foldout": main})
}

// The scripts of testdata/script drive the program as a person does, each in a folder of its own that holds the folder
// song: an invented session of six tracks of four seconds. Beside the commands of testscript they have
//
//	code N COMMAND...   run the command; its exit code has to be N
//	narrow N            no line of the last output is wider than N columns
//
// go test ./cmd/foldout -run Scripts/stems runs one of them.
func TestScripts(t *testing.T) {
	song := sync.OnceValue(func() string { return smallSession(t) })
	p := testscript.Params{
		Dir:                 filepath.Join("testdata", "script"),
		RequireExplicitExec: true,
		RequireUniqueNames:  true,
		Setup: func(env *testscript.Env) error {
			for _, v := range []string{"HOME", "XDG_CACHE_HOME", "XDG_CONFIG_HOME", "LocalAppData", "AppData"} {
				env.Setenv(v, filepath.Join(env.WorkDir, ".home"))
			}
			return os.CopyFS(filepath.Join(env.WorkDir, "song"), os.DirFS(song()))
		},
		Cmds: map[string]func(*testscript.TestScript, bool, []string){"code": code, "narrow": narrow},
	}
	if underrace.Detector { // one script for each way in which commands share their work among goroutines
		for _, name := range []string{"cache", "formats", "levels", "stems", "sweep"} {
			p.Files = append(p.Files, filepath.Join(p.Dir, name+".txtar"))
		}
		p.Dir = ""
	}
	testscript.Run(t, p)
}

func code(ts *testscript.TestScript, neg bool, args []string) {
	want, err := strconv.Atoi(args[0])
	if neg || err != nil || len(args) < 2 {
		ts.Fatalf("usage: code N COMMAND...")
	}
	got := 0
	err = ts.Exec(args[1], args[2:]...)
	var exit *exec.ExitError
	if errors.As(err, &exit) {
		got = exit.ExitCode()
	} else {
		ts.Check(err)
	}
	if got != want {
		ts.Fatalf("exit code %d, want %d", got, want)
	}
}

func narrow(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: narrow N")
	}
	columns, err := strconv.Atoi(args[0])
	ts.Check(err)
	for _, line := range strings.Split(ts.ReadFile("stdout"), "\n") {
		if w := runewidth.StringWidth(line); w > columns {
			ts.Fatalf("%d columns, want at most %d: %s", w, columns, line)
		}
	}
}

// Scripts are what a newcomer reads first to see how the program behaves: each says at its head what it shows.
func TestScriptsSayWhatTheyShow(t *testing.T) {
	list, err := filepath.Glob(filepath.Join("testdata", "script", "*.txtar"))
	require.NoError(t, err)
	require.Greater(t, len(list), 15)
	for _, path := range list {
		text, err := os.ReadFile(path)
		require.NoError(t, err)
		require.True(t, strings.HasPrefix(string(text), "# "), path)
	}
}
