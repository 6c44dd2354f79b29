package atomicfile

import (
	"fmt"
	"io"
	"io/fs"
	"os"
	"os/exec"
	"path/filepath"
	"runtime"
	"strings"
	"sync"
	"sync/atomic"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func put(text string) func(io.Writer) error {
	return func(w io.Writer) error { _, err := io.WriteString(w, text); return err }
}

func content(t *testing.T, path string) string {
	b, err := os.ReadFile(path)
	require.NoError(t, err)
	return string(b)
}

func names(t *testing.T, dir string) (all []string) {
	entries, err := os.ReadDir(dir)
	require.NoError(t, err)
	for _, e := range entries {
		all = append(all, e.Name())
	}
	return all
}

func TestAFileThatCameInBetweenStays(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "sheet.json")
	f, err := Create(path, Options{})
	require.NoError(t, err)
	require.NoError(t, os.WriteFile(path, []byte("theirs"), 0o666))
	err = f.Commit()
	require.ErrorIs(t, err, fs.ErrExist)
	assert.ErrorContains(t, err, path)
	assert.NotContains(t, err.Error(), tempPrefix)
	assert.Equal(t, "theirs", content(t, path))
	assert.Equal(t, []string{"sheet.json"}, names(t, dir))
}

func TestOnlyOneOfManyGetsTheName(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "one")
	var files []*File
	for range 16 {
		f, err := Create(path, Options{})
		require.NoError(t, err)
		files = append(files, f)
	}
	var won atomic.Int32
	var group sync.WaitGroup
	for _, f := range files {
		group.Go(func() {
			if f.Commit() == nil {
				won.Add(1)
			}
		})
	}
	group.Wait()
	assert.EqualValues(t, 1, won.Load())
	assert.Equal(t, []string{"one"}, names(t, dir))
}

func TestReplaceKeepsPermissions(t *testing.T) {
	if runtime.GOOS == "windows" {
		t.Skip("Windows keeps permissions elsewhere")
	}
	path := filepath.Join(t.TempDir(), "a")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o600))
	require.ErrorIs(t, Write(path, Options{}, put("new")), fs.ErrExist)
	assert.Equal(t, "old", content(t, path))
	require.NoError(t, Write(path, Options{Replace: true}, put("new")))
	assert.Equal(t, "new", content(t, path))
	st, err := os.Stat(path)
	require.NoError(t, err)
	assert.Equal(t, fs.FileMode(0o600), st.Mode().Perm())
}

func TestInputsAreNeverWrittenOver(t *testing.T) {
	dir := t.TempDir()
	input := filepath.Join(dir, "kick.wav")
	require.NoError(t, os.WriteFile(input, []byte("kick"), 0o666))
	other := filepath.Join(dir, "link.wav")
	if err := os.Symlink(input, other); err != nil {
		t.Skip("no links here:", err)
	}
	hard := filepath.Join(dir, "hard.wav")
	require.NoError(t, os.Link(input, hard))
	for _, path := range []string{input, other, hard, dir + "/../" + filepath.Base(dir) + "/kick.wav"} {
		_, err := Create(path, Options{Replace: true, Inputs: []string{input}})
		assert.ErrorContains(t, err, "never writes over", path)
	}
	f, err := Create(filepath.Join(dir, "new.wav"), Options{Replace: true, Inputs: []string{input}})
	require.NoError(t, err)
	require.NoError(t, os.Link(input, filepath.Join(dir, "new.wav")))
	assert.ErrorContains(t, f.Commit(), "never writes over")
	assert.Equal(t, "kick", content(t, input))
}

func TestALinkStaysALink(t *testing.T) {
	dir := t.TempDir()
	real, link := filepath.Join(dir, "real"), filepath.Join(dir, "link")
	require.NoError(t, os.WriteFile(real, []byte("old"), 0o666))
	if err := os.Symlink("real", link); err != nil {
		t.Skip("no links here:", err)
	}
	require.NoError(t, Write(link, Options{Replace: true}, put("new")))
	assert.Equal(t, "new", content(t, real))
	st, err := os.Lstat(link)
	require.NoError(t, err)
	assert.NotZero(t, st.Mode()&fs.ModeSymlink)
	require.NoError(t, os.Remove(real))
	require.ErrorIs(t, Write(link, Options{}, put("x")), fs.ErrExist, "a link that leads nowhere is somebody's")
}

func TestLongNames(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, strings.Repeat("n", 244)+".json") // 249 bytes; common file systems end at 255
	require.NoError(t, Write(path, Options{}, put("x")))
	assert.Equal(t, "x", content(t, path))
}

func TestErrorsNameTheFile(t *testing.T) {
	path := filepath.Join(t.TempDir(), "missing", "a")
	err := Write(path, Options{}, put("x"))
	require.ErrorIs(t, err, fs.ErrNotExist)
	assert.ErrorContains(t, err, path)
	assert.NotContains(t, err.Error(), tempPrefix)
	err = Write(t.TempDir(), Options{Replace: true}, put("x"))
	assert.ErrorContains(t, err, "is a folder")
}

func TestAFailedWriteLeavesNothing(t *testing.T) {
	dir := t.TempDir()
	path := filepath.Join(dir, "a")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o666))
	err := Write(path, Options{Replace: true}, func(io.Writer) error { return io.ErrUnexpectedEOF })
	require.ErrorIs(t, err, io.ErrUnexpectedEOF)
	assert.Equal(t, "old", content(t, path))
	assert.Equal(t, []string{"a"}, names(t, dir))
}

// The temporary file of a process that has ended goes; those of a living process, of another machine and of other
// programs stay.
func TestLeftoversOfTheDeadAreCleared(t *testing.T) {
	dead := exec.Command(os.Args[0], "-test.run=^$")
	require.NoError(t, dead.Run())
	dir := t.TempDir()
	name := func(host string, pid int) string {
		return fmt.Sprintf("%s%s-%d-0123456789abcdef.tmp", tempPrefix, host, pid)
	}
	keep := []string{name(host(), os.Getpid()), name("00000000", dead.Process.Pid), ".foldout-x.tmp", ".other.tmp"}
	for _, n := range append(keep, name(host(), dead.Process.Pid)) {
		require.NoError(t, os.WriteFile(filepath.Join(dir, n), nil, 0o666))
	}
	require.NoError(t, Write(filepath.Join(dir, "a"), Options{}, put("x")))
	assert.ElementsMatch(t, append(keep, "a"), names(t, dir))
}

func TestWhatHasChangedSinceItWasReadStays(t *testing.T) {
	path := filepath.Join(t.TempDir(), "a")
	require.NoError(t, os.WriteFile(path, []byte("old"), 0o666))
	read, err := os.Stat(path)
	require.NoError(t, err)
	require.NoError(t, Write(path, Options{Replace: true, Since: read}, put("one")))
	assert.ErrorIs(t, Write(path, Options{Replace: true, Since: read}, put("two")), ErrChanged)
	assert.Equal(t, "one", content(t, path))
	require.NoError(t, os.Remove(path))
	assert.ErrorIs(t, Write(path, Options{Replace: true, Since: read}, put("two")), ErrChanged, "gone is changed, too")
	left, err := os.ReadDir(filepath.Dir(path))
	require.NoError(t, err)
	assert.Empty(t, left)
}
