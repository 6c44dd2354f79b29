package ears_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/timbre"
	"foldout/plan/ears"
	"foldout/testdata/rolemodel/changes"
	"foldout/testdata/rolemodel/lab"
)

// The table is what the kept vectors and the recipe give, byte for byte.
func TestTheTableIsRebuiltFromTheKeptVectors(t *testing.T) {
	set, err := changes.Material(keptVectors)
	require.NoError(t, err)
	require.Equal(t, timbre.Names, set.Names, "the kept vectors are of another meter: measure them anew")
	require.Equal(t, ears.Roles, lab.Roles)
	table, err := os.ReadFile("role.csv")
	require.NoError(t, err)
	if testing.Short() {
		t.Skip("the fit itself takes about 20 s")
	}
	m, err := lab.Shipped.Fit(set, set.Training())
	require.NoError(t, err)
	assert.Equal(t, string(table), string(m.Table(set)), "run go run ./testdata/rolemodel/train")
}
