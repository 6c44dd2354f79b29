package fold

import (
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/plan/roles"
	"foldout/plan/trade"
)

// A hundred tracks of known roles, ten of them out of place.
func TestTenOfAHundredAreFound(t *testing.T) {
	rng := rand.New(rand.NewPCG(3, 3))
	s := pure(t, rng, map[string]int{"kick": 4, "snare": 5, "tom": 5, "hat": 2, "overhead": 4, "room": 4, "percussion": 8, "bass": 4, "electric guitar": 16,
		"acoustic guitar": 6, "piano": 4, "organ": 2, "synth": 10, "strings": 6, "horns": 5, "lead vocal": 4, "backing vocal": 11})
	home := map[string]int{"percussion": 2, "bass": 1, "electric guitar": 3, "acoustic guitar": 3, "piano": 4, "organ": 4, "synth": 4, "strings": 5, "horns": 5, "lead vocal": 6, "backing vocal": 7}
	labels := make([]int, len(s.Live))
	wrong := map[int]bool{}
	for p := range labels {
		role, _ := s.Belief[p].Best()
		labels[p] = home[role]
	}
	opposite := map[int]int{0: 5, 1: 7, 2: 4, 3: 0, 4: 6, 5: 0, 6: 3, 7: 4} // pairs nobody would sign
	for len(wrong) < 10 {
		p := rng.IntN(len(labels))
		if !wrong[p] {
			labels[p] = opposite[labels[p]]
			wrong[p] = true
		}
	}
	for p, v := range s.Astray(labels, 8) {
		role, _ := s.Belief[p].Best()
		assert.Equal(t, wrong[p], v.Stray >= MisfitFrom, "%s on pair %d: %.2f", role, labels[p]+1, v.Stray)
	}
}

func BenchmarkCheckAHundredTracks(b *testing.B) {
	rng := rand.New(rand.NewPCG(3, 3))
	s := &Session{}
	labels := make([]int, 100)
	for p := range labels {
		belief := make(Belief, len(trade.Roles))
		for r := range belief {
			belief[r] = rng.ExpFloat64() * rng.ExpFloat64()
		}
		s.Live, s.Belief, labels[p] = append(s.Live, p), append(s.Belief, belief.normalise()), rng.IntN(8)
	}
	s.Hints = pureHints(100)
	for b.Loop() {
		s.Astray(labels, 8)
	}
}

func pureHints(n int) []roles.Hint { return make([]roles.Hint, n) }
