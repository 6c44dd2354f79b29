package csvsafe

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The characters are those of OWASP, "CSV Injection": =, +, -, @, tab (0x09) and carriage return (0x0D).
func TestCellsThatASpreadsheetWouldRun(t *testing.T) {
	for cell, want := range map[string]string{
		"=1+1": "'=1+1", "+Kick.wav": "'+Kick.wav", "-Kick.wav": "'-Kick.wav", "@SUM(A1)": "'@SUM(A1)", "\tKick": "'\tKick", "\rKick": "'\rKick",
		"-3.5": "-3.5", "+12": "+12", "-1e-5": "-1e-5", "Kick.wav": "Kick.wav", "": "", "'Round": "'Round", "'=1": "''=1", "-": "'-",
	} {
		assert.Equal(t, want, Cell(cell), "%q", cell)
		assert.Equal(t, cell, Plain(Cell(cell)), "%q", cell)
	}
	var b strings.Builder
	require.NoError(t, Write(&b, [][]string{{"track", "db"}, {"=cmd", "-3"}}))
	assert.Equal(t, "track,db\n'=cmd,-3\n", b.String())
}

func FuzzPlainUndoesCell(f *testing.F) {
	for _, s := range []string{"=1", "'=1", "''-x", "-3", "", "'"} {
		f.Add(s)
	}
	f.Fuzz(func(t *testing.T, s string) {
		if got := Plain(Cell(s)); got != s {
			t.Errorf("%q came back as %q", s, got)
		}
	})
}
