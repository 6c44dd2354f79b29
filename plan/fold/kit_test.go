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

// A cut of a kit that no engineer makes stays one when a track among it is taken for something else; cymbals may leave, percussion
// is no part of a kit (common practice, no source).
func TestACutOfAKitIsOneWhateverStraysIntoIt(t *testing.T) {
	hold := func(of map[string]int) holding {
		h := holding{of: of}
		for _, n := range of {
			h.size += n
		}
		return h
	}
	drums := hold(map[string]int{"Drums": 3, "Cymbals": 1})
	for _, c := range []struct {
		of   map[string]int
		same bool
	}{
		{map[string]int{"Drums": 1, "Cymbals": 3}, true},
		{map[string]int{"Drums": 2, "Cymbals": 2, "Percussion": 1}, true},
		{map[string]int{"Cymbals": 3}, false},
		{map[string]int{"Cymbals": 3, "Percussion": 1}, false},
		{map[string]int{"Drums": 1, "Percussion": 3}, false},
		{map[string]int{"Percussion": 2}, false},
		{nil, false},
	} {
		assert.Equal(t, c.same, samePlace(drums, hold(c.of)), "%v", c.of)
		assert.Equal(t, c.same, samePlace(hold(c.of), drums), "%v", c.of)
	}
	assert.True(t, samePlace(hold(map[string]int{"Horns": 1}), hold(map[string]int{"Horns": 4})))
	assert.False(t, samePlace(hold(map[string]int{"Horns": 1}), hold(map[string]int{"Horns": 4, "Strings": 1})))
	assert.False(t, samePlace(hold(nil), hold(nil)))
}
