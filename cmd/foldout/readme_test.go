package main

import (
	"errors"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every command of the README's tour runs as it is printed, in order, in an empty folder. listen waits for a person and
// has tests of its own.
func TestTheTourRunsAsPrinted(t *testing.T) {
	if testing.Short() {
		t.Skip("performs the song twice")
	}
	readme, err := os.ReadFile(filepath.Join("..", "..", "README.md"))
	require.NoError(t, err)
	t.Chdir(t.TempDir())
	t.Setenv("XDG_CACHE_HOME", t.TempDir())
	lines := regexp.MustCompile(`(?m)^    \./foldout (.*)$`).FindAllStringSubmatch(string(readme), -1)
	assert.Greater(t, len(lines), 20)
	for _, line := range lines {
		words := shellWords(t, line[1])
		if words[0] == "listen" {
			continue
		}
		out, said, err := call(t, words...)
		if words[0] == "trace" { // of a return with two planted faults
			require.ErrorIs(t, err, errFaults)
			for _, sentence := range []string{"Output 3 (Guitars left) arrives with inverted polarity", "Output 6 (Keys and horns right) arrives 3.1 dB low"} {
				assert.Contains(t, out, sentence)
				assert.Contains(t, string(readme), sentence)
			}
			continue
		}
		require.NoError(t, errors.Unwrap(err), "%s: %s", line[1], said)
		require.NoError(t, err, "%s: %s", line[1], said)
	}
}

// shellWords splits a line at blanks outside double quotes.
func shellWords(t *testing.T, line string) (words []string) {
	t.Helper()
	for n, part := range strings.Split(line, `"`) {
		if n%2 == 1 {
			words[len(words)-1] += part
			continue
		}
		fields := strings.Fields(part)
		if part != "" && part[0] != ' ' && n > 0 && len(fields) > 0 { // goes on right after a quote
			words[len(words)-1] += fields[0]
			fields = fields[1:]
		}
		words = append(words, fields...)
		if strings.HasSuffix(part, " ") {
			words = append(words, "")
		}
	}
	for _, w := range words {
		require.NotEmpty(t, w, line)
	}
	return words
}
