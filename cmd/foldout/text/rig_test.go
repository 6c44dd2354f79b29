package text

import (
	"path/filepath"
	"strings"
	"testing"

	"github.com/mattn/go-runewidth"
	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/patch"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

func exampleRig(t *testing.T) *rig.Rig {
	t.Helper()
	r, err := rig.Load(filepath.Join("..", "..", "..", "examples", "rigs", "32-plus-8.toml"))
	require.NoError(t, err)
	return r
}

func TestARigIsDrawnWithWhatHangsWhere(t *testing.T) {
	t.Setenv("COLUMNS", "120")
	var b strings.Builder
	require.NoError(t, Rig(&b, exampleRig(t)))
	for _, want := range []string{"18 pairs free", "out 1/2     ---> speakers", "out 7/8     ---> pair 18 ---> Quernstone 32 + 8 in 35/36", "in  7/8     <--- return", "unused inputs 37-40", "full scale +24 dBu = 12.28 V"} {
		assert.Contains(t, b.String(), want)
	}
}

// Output 3 on the first D-type is channel 3: hot 21, cold 9, ground 22 (AES59).
func TestAPatchNamesEveryHopAtEveryWidth(t *testing.T) {
	s := &sheet.Sheet{Title: "Song"}
	for n := range 18 {
		s.Pairs = append(s.Pairs, sheet.Pair{Outputs: [2]int{2*n + 1, 2*n + 2}, Name: "Pair with a long name for its label", Tracks: []sheet.Placement{{File: "t.wav", Bus: "Bus"}}})
	}
	d, err := patch.Make(s, exampleRig(t))
	require.NoError(t, err)
	for _, columns := range []string{"60", "80", "120"} {
		t.Setenv("COLUMNS", columns)
		var b strings.Builder
		require.NoError(t, Patch(&b, d))
		for _, line := range strings.Split(b.String(), "\n") {
			assert.LessOrEqual(t, runewidth.StringWidth(line), map[string]int{"60": 60, "80": 80, "120": 120}[columns], line)
		}
		words := strings.Join(strings.Fields(b.String()), " ")
		for _, want := range []string{"Bus: t", "D-type 1, channel 3 (+21 \u22129 ground 22)", "--> Quernstone 32 + 8 in 1", "RET R |", "Cables", patch.Cautions[0]} {
			assert.Contains(t, words, want, columns)
		}
	}
}
