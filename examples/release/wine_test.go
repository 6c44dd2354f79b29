package main

import (
	"bytes"
	"encoding/binary"
	"os"
	"os/exec"
	"path/filepath"
	"strings"
	"testing"
	"time"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The Windows program runs: it makes the demo, folds it, patches, and treats files with Windows' names and line ends.
// FOLDOUT_WINE names the loader of Wine (wine, or wine64 of Debian's package wine64). Wine before 8.17 lacks the library from
// which Go takes its random numbers; the test lends it one.
func TestTheWindowsProgramUnderWine(t *testing.T) {
	wine := os.Getenv("FOLDOUT_WINE")
	if wine == "" {
		t.Skip("FOLDOUT_WINE names no wine; on Debian FOLDOUT_WINE=/usr/lib/wine/wine64")
	}
	prefix, dir := filepath.Join(t.TempDir(), "prefix"), t.TempDir()
	program := filepath.Join(dir, "foldout.exe")
	require.NoError(t, build(program, "1.2.3", "windows", "amd64"))
	env := append(os.Environ(), "WINEPREFIX="+prefix, "WINEDEBUG=-all")
	run := func(name string, args ...string) (string, int) {
		t.Helper()
		cmd := exec.Command(wine, append([]string{name}, args...)...)
		cmd.Dir, cmd.Env = dir, env
		var out bytes.Buffer
		cmd.Stdout, cmd.Stderr = &out, &out
		cmd.WaitDelay = 5 * time.Second // services of Wine hold on to the pipe
		err := cmd.Run()
		require.NotNil(t, cmd.ProcessState, "%v", err)
		return strings.ReplaceAll(out.String(), "\r\n", "\n"), cmd.ProcessState.ExitCode()
	}
	require.NoError(t, os.MkdirAll(filepath.Join(dir, "sub", "folder"), 0o755))
	run("wineboot", "--init")
	lent := filepath.Join(prefix, "drive_c", "windows", "system32", "bcryptprimitives.dll")
	if _, err := os.Stat(lent); err != nil {
		require.NoError(t, os.WriteFile(lent, forwarder("bcryptprimitives.dll", "ProcessPrng", "ADVAPI32.SystemFunction036"), 0o644))
	}
	done := func(want string, args ...string) {
		t.Helper()
		out, code := run("foldout.exe", args...)
		require.Zero(t, code, "%v: %s", args, out)
		assert.Contains(t, out, want, "%v", args)
	}
	done("1.2.3", "--version")
	done("VOCALS", "demo", "--out", "lamps")
	done("", "suggest", "lamps", "--pairs", "4", "--out", `sub\folder\lamps.json`)
	done("VOCALS", "suggest", `.\lamps\`, "--pairs", "4")
	done("", "rig", "new", "--out", `studio.toml`, "--outputs", "10", "--monitor", "9/10")
	done("", "patch", `sub\folder\lamps.json`, "--svg", "patch.svg")
	done("", "levels", `sub\folder\lamps.json`)
	done("", "stems", `sub\folder\lamps.json`, "--out", `stems`, "--against", "lamps-mix.wav")
	done("", "report", `sub\folder\lamps.json`, "--html", "page.html")

	table, err := os.ReadFile(filepath.Join(dir, "lamps-by-hand.csv"))
	require.NoError(t, err)
	crlf := strings.ReplaceAll(strings.ReplaceAll(string(table), "\r\n", "\n"), "\n", "\r\n")
	require.NoError(t, os.WriteFile(filepath.Join(dir, "by hand.csv"), []byte("\ufeff"+crlf), 0o644))
	done("Shaker", "check", "lamps", "--sheet", "by hand.csv")

	for _, refused := range []string{`studio.toml`, `STUDIO.TOML`, `.\studio.toml`} { // is there already, by any name
		out, code := run("foldout.exe", "rig", "new", "--out", refused, "--outputs", "8")
		assert.Equal(t, 1, code, out)
		assert.Contains(t, out, "never replaced", refused)
	}
	out, code := run("foldout.exe", "suggest", "lamps", "--pairs", "4", "--force", "--out", `LAMPS\01 KICK IN.WAV`)
	assert.NotZero(t, code, "a track is no output, however it is spelt: %s", out)
	out, code = run("foldout.exe", "measure", "nowhere")
	assert.Equal(t, 1, code, out)
	out, code = run("foldout.exe", "measure")
	assert.Equal(t, 2, code, out)
	left, err := filepath.Glob(filepath.Join(dir, ".foldout-*"))
	require.NoError(t, err)
	assert.Empty(t, left)
}

// forwarder is a library of Windows (PE32+, x86-64) without code: it has one function, which is that of another library.
// The layout is that of the PE format's specification, "Optional Header (Image Only)" and "The .edata Section".
func forwarder(name, function, to string) []byte {
	const page, fileAt, at = 0x1000, 0x200, 0x1000
	le := binary.LittleEndian
	data := make([]byte, 40+4+4+2, fileAt) // directory, one address, one name, one ordinal
	text := func(s string) uint32 {
		offset := uint32(at + len(data))
		data = append(append(data, s...), 0)
		return offset
	}
	le.PutUint32(data[12:], text(name))
	le.PutUint32(data[16:], 1)     // first ordinal
	le.PutUint32(data[20:], 1)     // functions
	le.PutUint32(data[24:], 1)     // names
	le.PutUint32(data[28:], at+40) // their tables
	le.PutUint32(data[32:], at+44) // likewise
	le.PutUint32(data[36:], at+48) // likewise
	le.PutUint32(data[44:], text(function))
	le.PutUint32(data[40:], text(to)) // an address within this directory is the name of another function
	size := uint32(len(data))
	data = append(data, make([]byte, fileAt-len(data))...)

	var b bytes.Buffer
	put := func(values ...any) {
		for _, v := range values {
			binary.Write(&b, le, v) //nolint:errcheck // a buffer takes all
		}
	}
	head := make([]byte, 64)
	copy(head, "MZ")
	le.PutUint32(head[60:], 64)
	b.Write(head)
	b.WriteString("PE\x00\x00")
	put(uint16(0x8664), uint16(1), uint32(0), uint32(0), uint32(0), uint16(240), uint16(0x2022)) // DLL, executable, large addresses
	put(uint16(0x20b), uint16(0), uint32(0), uint32(fileAt), uint32(0), uint32(0), uint32(at))
	put(uint64(0x180000000), uint32(page), uint32(fileAt), uint16(6), uint16(0), uint16(0), uint16(0), uint16(6), uint16(0), uint32(0))
	put(uint32(at+page), uint32(fileAt), uint32(0), uint16(3), uint16(0x160), uint64(1<<20), uint64(page), uint64(1<<20), uint64(page), uint32(0), uint32(16))
	put(uint32(at), size)
	b.Write(make([]byte, 15*8)) // no other directories
	var section [8]byte
	copy(section[:], ".edata")
	put(section, size, uint32(at), uint32(fileAt), uint32(fileAt), uint32(0), uint32(0), uint16(0), uint16(0), uint32(0x40000040))
	b.Write(make([]byte, fileAt-b.Len()))
	return append(b.Bytes(), data...)
}
