package main

import (
	"bytes"
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func sheetFile(t *testing.T) string {
	t.Helper()
	s := inventedSheet()
	s.Folder = filepath.Join(t.TempDir(), "gone")
	var b bytes.Buffer
	require.NoError(t, writeJSON(&b, s))
	path := filepath.Join(t.TempDir(), "song.json")
	require.NoError(t, os.WriteFile(path, b.Bytes(), 0o600))
	return path
}

func TestReportWritesOnePage(t *testing.T) {
	sheet, page := sheetFile(t), filepath.Join(t.TempDir(), "page.html")
	_, _, err := call(t, "report", sheet, "--html", page, "--sheet-only")
	require.NoError(t, err)
	text, err := os.ReadFile(page)
	require.NoError(t, err)
	for _, section := range []string{"lanes", "map", "patch", "cautions"} {
		assert.Contains(t, string(text), `id="`+section+`"`)
	}
	assert.NotContains(t, string(text), `id="levels"`)

	_, _, err = call(t, "report", sheet, "--html", page, "--sheet-only")
	assert.ErrorContains(t, err, "--force", "a page that is there stays")
}

func TestReportSaysWhatIsMissing(t *testing.T) {
	sheet := sheetFile(t)
	var usage usageError
	_, _, err := call(t, "report", sheet)
	assert.ErrorAs(t, err, &usage)
	assert.ErrorContains(t, err, "--html")

	page := filepath.Join(t.TempDir(), "page.html")
	_, _, err = call(t, "report", sheet, "--html", page)
	assert.ErrorContains(t, err, "--folder", "the tracks are gone")
	assert.ErrorContains(t, err, "--sheet-only")
	assert.NoFileExists(t, page)
}

func TestPatchDrawsAPage(t *testing.T) {
	sheet, page := sheetFile(t), filepath.Join(t.TempDir(), "page.html")
	_, _, err := call(t, "patch", sheet, "--html", page)
	require.NoError(t, err)
	text, err := os.ReadFile(page)
	require.NoError(t, err)
	assert.Contains(t, string(text), `<section id="patch"`)
}
