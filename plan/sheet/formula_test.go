package sheet

import (
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/csvsafe"
)

// A table that foldout wrote names the tracks as they are called, though a spreadsheet must not run them.
func TestNeutralisedCellsAreReadBackUnchanged(t *testing.T) {
	names := []string{"=1+1.wav", "+Kick.wav", "-Snare.wav", "@Bass.wav", "'Round.wav", "'=x.wav"}
	rows := [][]string{{"track", "pair", "bus"}}
	for _, n := range names {
		rows = append(rows, []string{n, "1", "=Drums"})
	}
	var b strings.Builder
	require.NoError(t, csvsafe.Write(&b, rows))
	assert.NotContains(t, b.String(), "\n=")
	m, err := ReadManual(strings.NewReader(b.String()))
	require.NoError(t, err)
	for i, r := range m.Rows {
		assert.Equal(t, names[i], r.Track)
		assert.Equal(t, "=Drums", r.Bus)
	}
}

func TestSheetsOfAbsurdSizeAreRefused(t *testing.T) {
	_, err := Read(strings.NewReader(`{"schema":1,"pairs":[` + strings.Repeat("{},", 200_000) + "{}]}"))
	assert.ErrorContains(t, err, "the sheet has 200001 pairs; want at most 1024")
}
