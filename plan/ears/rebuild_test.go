package ears

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/timbre"
	"foldout/testdata/rolemodel/lab"
)

// The table is what the kept vectors and the recipe give, byte for byte.
func TestTheTableIsRebuiltFromTheKeptVectors(t *testing.T) {
	set, err := lab.Read("../../testdata/rolemodel/vectors")
	require.NoError(t, err)
	require.Equal(t, timbre.Names, set.Names, "the kept vectors are of another meter: measure them anew")
	require.Equal(t, Roles, lab.Roles)
	if testing.Short() {
		t.Skip("the fit itself takes about 20 s")
	}
	rows := make([]*lab.Row, len(set.Rows))
	for i := range rows {
		rows[i] = &set.Rows[i]
	}
	m, err := lab.Shipped.Fit(rows, len(set.Names))
	require.NoError(t, err)
	assert.Equal(t, roleTable, string(m.Table(set)), "run go run ./testdata/rolemodel/train")
}
