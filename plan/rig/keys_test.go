package rig

import (
	"regexp"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Every key that a rig may have stands in the file that is written, at least as a comment, and the comments are right: without
// their signs they are read. The keys are those that the reader knows.
func TestEveryKeyStandsInTheFile(t *testing.T) {
	var b strings.Builder
	require.NoError(t, Write(&b, Plain(2)))
	text := b.String()
	for _, table := range []string{"", "interface", "summing", "alignment", "return", "cables"} {
		var path []string
		if table != "" {
			path = []string{table}
		}
		keys, _ := keysOf(path)
		for _, k := range keys {
			want := `(?m)^(# )?` + k + ` = `
			if table == "" && k != "name" && k != "pan" {
				want = `(?m)^(# )?\[+` + k + `\]`
			}
			assert.Regexp(t, regexp.MustCompile(want), text, "%s.%s", table, k)
		}
	}
	_, err := Read(strings.NewReader(text))
	require.NoError(t, err)
	bare := regexp.MustCompile(`(?m)^# ((\[|[a-z_]+ = ).*)$`).ReplaceAllString(text, "$1")
	bare = regexp.MustCompile(`(?m)^reserved_outputs.*$`).ReplaceAllString(bare, "") // two outputs cannot be reserved as well
	bare = regexp.MustCompile(`(?m)^(preset|monitor_pair|mono_switches).*$`).ReplaceAllString(bare, "")
	_, err = Read(strings.NewReader(bare))
	assert.NoError(t, err, bare)
}
