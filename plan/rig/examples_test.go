package rig

import (
	"os"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

const examples = "../../examples/rigs"

// Free pairs counted by hand: floor(outputs/2) of each interface less monitors and reservations, capped by half the
// summing inputs.
func TestExamplesLoad(t *testing.T) {
	want := map[string]struct {
		pairs int
		first Pair
		last  Pair
	}{
		"8-outputs.toml":  {3, Pair{"Brambling Eight", [2]int{3, 4}, [2]int{1, 2}}, Pair{"Brambling Eight", [2]int{7, 8}, [2]int{5, 6}}},
		"16-outputs.toml": {7, Pair{"Fieldfare 16", [2]int{3, 4}, [2]int{3, 4}}, Pair{"Fieldfare 16", [2]int{15, 16}, [2]int{15, 16}}},
		"24-outputs.toml": {8, Pair{"Fieldfare 16", [2]int{1, 2}, [2]int{1, 2}}, Pair{"Fieldfare 16", [2]int{15, 16}, [2]int{15, 16}}},
		"32-outputs.toml": {16, Pair{"Redwing 32", [2]int{1, 2}, [2]int{1, 2}}, Pair{"Redwing 32", [2]int{31, 32}, [2]int{31, 32}}},
		"32-plus-8.toml":  {18, Pair{"Redwing 32", [2]int{1, 2}, [2]int{1, 2}}, Pair{"Brambling Eight", [2]int{7, 8}, [2]int{35, 36}}},
	}
	files, err := os.ReadDir(examples)
	require.NoError(t, err)
	assert.Len(t, files, len(want))
	for _, f := range files {
		t.Run(f.Name(), func(t *testing.T) {
			r, err := Load(filepath.Join(examples, f.Name()))
			require.NoError(t, err)
			pairs, _, err := r.Pairs()
			require.NoError(t, err)
			w := want[f.Name()]
			require.Len(t, pairs, w.pairs)
			assert.Equal(t, w.first, pairs[0])
			assert.Equal(t, w.last, pairs[len(pairs)-1])
		})
	}
}
