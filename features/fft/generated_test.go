package fft

import (
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The kernels committed are what the generator writes, and use no register that AVX2 does not have.
func TestKernelsAreAsGenerated(t *testing.T) {
	if testing.Short() {
		t.Skip("compiles the generator")
	}
	dir := t.TempDir()
	files := []string{"kernels_amd64.s", "kernels_amd64.go"}
	out, err := exec.Command("go", "run", "./gen", "-out", filepath.Join(dir, files[0]), "-stubs", filepath.Join(dir, files[1]), "-pkg", "fft").CombinedOutput()
	require.NoError(t, err, string(out))
	for _, name := range files {
		kept, err := os.ReadFile(name)
		require.NoError(t, err)
		made, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		assert.Equal(t, body(made), body(kept), "%s is not what the generator makes; run go generate", name)
		assert.NotRegexp(t, regexp.MustCompile(`\b([XY](1[6-9]|2\d|3[01])|Z\d+|K[0-7])\b`), string(kept), name)
	}
}

// body leaves out the first line, which holds the command.
func body(file []byte) string {
	_, rest, _ := strings.Cut(string(file), "\n")
	return rest
}
