package main

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func TestDemoFolderIsNewOrEmpty(t *testing.T) {
	t.Chdir(t.TempDir())
	for _, want := range []string{"foldout-demo", "foldout-demo-2", "foldout-demo-3"} {
		dir, err := demoFolder("", false)
		require.NoError(t, err)
		assert.Equal(t, want, dir)
		require.NoError(t, os.MkdirAll(filepath.Join(dir, "something"), 0o777))
	}
	dir, err := demoFolder(filepath.Join("a", "b"), false)
	require.NoError(t, err)
	require.NoError(t, os.MkdirAll(dir, 0o777))
	_, err = demoFolder(dir, false)
	assert.NoError(t, err, "empty folders may be used")
	require.NoError(t, os.WriteFile(dir+"-print.wav", nil, 0o600))
	_, err = demoFolder(dir, false)
	assert.NoError(t, err, "nothing goes there without --studio")
	_, err = demoFolder(dir, true)
	assert.ErrorContains(t, err, dir+"-print.wav is there already")

	file := filepath.Join(dir, "mine.txt")
	require.NoError(t, os.WriteFile(file, []byte("mine"), 0o600))
	_, err = demoFolder(dir, false)
	assert.ErrorContains(t, err, "not empty")
	_, err = demoFolder(file, false)
	assert.Error(t, err, "a file is no folder")
	_, err = demoFolder(filepath.Join(file, "below"), false)
	assert.Error(t, err)
	kept, err := os.ReadFile(file)
	require.NoError(t, err)
	assert.Equal(t, "mine", string(kept))
}

func TestDemoTakesNoArguments(t *testing.T) {
	root := newRoot()
	root.SetArgs([]string{"demo", "here"})
	var usage usageError
	assert.ErrorAs(t, root.Execute(), &usage)
}
