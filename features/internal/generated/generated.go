// Package generated checks that what a generator wrote is what is kept.
package generated

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

// beyondAVX2 matches registers that a processor with AVX2 need not have.
var beyondAVX2 = regexp.MustCompile(`\b([XY](1[6-9]|2\d|3[01])|Z\d+|K[0-7])\b`)

// Kernels checks, in the folder of a package, that kernels_amd64.s and kernels_amd64.go are what the program in gen
// writes, that no kernel uses a register beyond those of AVX2, and that each ends with VZEROUPPER, without which scalar
// code after it runs many times slower.
func Kernels(t *testing.T, pkg string) {
	t.Helper()
	if testing.Short() {
		t.Skip("compiles the generator")
	}
	dir := t.TempDir()
	files := []string{"kernels_amd64.s", "kernels_amd64.go"}
	out, err := exec.Command("go", "run", "./gen", "-out", filepath.Join(dir, files[0]), "-stubs", filepath.Join(dir, files[1]), "-pkg", pkg).CombinedOutput()
	require.NoError(t, err, string(out))
	for _, name := range files {
		kept, err := os.ReadFile(name)
		require.NoError(t, err)
		made, err := os.ReadFile(filepath.Join(dir, name))
		require.NoError(t, err)
		assert.Equal(t, body(made), body(kept), "%s is not what the generator makes; run go generate", name)
		assert.NotRegexp(t, beyondAVX2, string(kept), name)
	}
	kept, err := os.ReadFile(files[0])
	require.NoError(t, err)
	returns := strings.Count(string(kept), "\tRET\n")
	assert.NotZero(t, returns)
	assert.Equal(t, returns, len(regexp.MustCompile(`\tVZEROUPPER\n\tRET\n`).FindAllString(string(kept), -1)), "each kernel ends with VZEROUPPER")
}

// body leaves out the first line, which holds the command.
func body(file []byte) string {
	_, rest, _ := strings.Cut(string(file), "\n")
	return rest
}
