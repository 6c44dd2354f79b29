package main

import (
	"archive/tar"
	"compress/gzip"
	"encoding/json"
	"errors"
	"io"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Two releases of the same sources have one sum, wherever they are made, and hold what a release owes its users.
func TestTwoReleasesAreTheSameBytes(t *testing.T) {
	if testing.Short() {
		t.Skip("builds the program")
	}
	t.Chdir(filepath.Join("..", ".."))
	t.Setenv("SOURCE_DATE_EPOCH", "1700000000")
	var sums []string
	var out string
	for _, name := range []string{"here", "somewhere else"} {
		out = filepath.Join(t.TempDir(), name)
		t.Setenv("TMPDIR", t.TempDir())
		require.NoError(t, release("1.2.3", out, []string{"linux/amd64"}))
		sum, err := os.ReadFile(filepath.Join(out, "SHA256SUMS"))
		require.NoError(t, err)
		sums = append(sums, string(sum))
	}
	assert.Equal(t, sums[0], sums[1])

	f, err := os.Open(filepath.Join(out, "foldout-1.2.3-linux-amd64.tar.gz"))
	require.NoError(t, err)
	defer f.Close()
	z, err := gzip.NewReader(f)
	require.NoError(t, err)
	archive := tar.NewReader(z)
	files := map[string][]byte{}
	for {
		head, err := archive.Next()
		if errors.Is(err, io.EOF) {
			break
		}
		require.NoError(t, err)
		assert.Equal(t, int64(1700000000), head.ModTime.Unix(), head.Name)
		assert.True(t, filepath.IsLocal(head.Name), head.Name)
		name := strings.TrimPrefix(head.Name, "foldout-1.2.3-linux-amd64/")
		files[name], err = io.ReadAll(archive)
		require.NoError(t, err)
		assert.Equal(t, name == "foldout", head.Mode&0o111 != 0, head.Name)
	}
	for _, name := range []string{"foldout", "README.md", "LICENSE", "completions/foldout.bash", "completions/_foldout", "completions/foldout.fish", "completions/foldout.ps1",
		"man/man1/foldout.1", "man/man1/foldout-suggest.1", "licences/go/LICENSE", "licences/gonum.org/v1/gonum/LICENSE", "licences/github.com/spf13/cobra/LICENSE.txt"} {
		assert.NotEmpty(t, files[name], name)
	}
	var doc document
	require.NoError(t, json.Unmarshal(files["sbom.spdx.json"], &doc))
	assert.Equal(t, "SPDX-2.3", doc.Version)
	names := map[string]bool{}
	for _, p := range doc.Packages {
		names[p.Name] = true
		assert.NotEmpty(t, p.Version, p.Name)
	}
	for _, name := range []string{"foldout", "go", "gonum.org/v1/gonum", "github.com/spf13/cobra", "github.com/mewkiz/flac"} {
		assert.True(t, names[name], name)
	}
	assert.False(t, names["github.com/stretchr/testify"], "tests are no part of the program")
	assert.NotContains(t, string(files["foldout"]), os.Getenv("TMPDIR"), "no path of the machine it was built on")
}
