package patch

import (
	"encoding/csv"
	"encoding/json"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
)

func TestCSVHasOneRowForEachLine(t *testing.T) {
	p, err := Make(song(3), studio(8, 8, rig.TRS, rig.XLR))
	require.NoError(t, err)
	var b strings.Builder
	require.NoError(t, p.WriteCSV(&b))
	rows, err := csv.NewReader(strings.NewReader(b.String())).ReadAll()
	require.NoError(t, err)
	require.Len(t, rows, 1+2*3+2)
	assert.Equal(t, []string{"1", "Pair 1", "Bus 1", "t1.wav", "L", "Interface", "3", "TRS 3", "tip", "ring", "sleeve", "Summing unit", "1", "XLR 1", "2", "3", "1", "", "P1 L | out 3 > in 1 | Pair 1"}, rows[1])
	assert.Equal(t, "return", rows[7][0])
	assert.Equal(t, "Print", rows[7][17])
}

func TestJSONKeepsEverything(t *testing.T) {
	p, err := Make(song(3), studio(8, 8, rig.TRS, rig.XLR))
	require.NoError(t, err)
	data, err := json.Marshal(p)
	require.NoError(t, err)
	var back Patch
	require.NoError(t, json.Unmarshal(data, &back))
	assert.Equal(t, *p, back)
	assert.Equal(t, SchemaVersion, back.Schema)
}

// NIOSH 98-126: 85 dBA, 8 hours; ITU-T H.870: 80 dBA for adults and 75 dBA for children, 40 hours a week.
func TestCautionsNameWhatCanHurt(t *testing.T) {
	all := strings.Join(Cautions, "\n")
	for _, want := range []string{"Monitors down", "up from zero", "runs on mains", "Phantom power", "return", "lethal voltages", "licensed", "safety earth", "85 dBA for 8 hours", "80 dBA for 40 hours", "75 dBA", "Local electrical codes", "manuals"} {
		assert.Contains(t, all, want)
	}
}
