package fold

import (
	"maps"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/trade"
)

// At four pairs a kit is one pair, also where the session has little else; with eight its cymbals may leave. A session of drums
// alone has no other use for its pairs (common practice, no source).
func TestAKitIsWholeWherePairsAreFew(t *testing.T) {
	kit := map[string]int{"kick": 2, "snare": 2, "tom": 2, "hat": 3, "overhead": 2}
	for _, c := range []struct {
		others map[string]int
		pairs  int
		whole  bool
	}{
		{map[string]int{"lead vocal": 1, "synth": 2}, 4, true},
		{map[string]int{"lead vocal": 1, "synth": 2}, 8, false},
		{nil, 4, false},
	} {
		count := maps.Clone(kit)
		maps.Copy(count, c.others)
		s := pure(t, rand.New(rand.NewPCG(5, 6)), count)
		g, err := s.Fold(c.pairs)
		require.NoError(t, err)
		var on []int
		for p, l := range g.Labels {
			if role, _ := s.Belief[p].Best(); trade.Kit[trade.KindOf[role]] {
				on = append(on, l)
				assert.True(t, !c.whole || g.Confidence[p] > 0.9, "%s: %.2f", role, g.Confidence[p])
			}
		}
		assert.Equal(t, c.whole, used(on) == 1, "%d pairs, others %v: %v", c.pairs, c.others, on)
	}
}
