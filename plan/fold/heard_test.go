package fold

import (
	"cmp"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// Probabilities as they are written add up to 1, rounded though they are (probability theory).
func TestWhatIsHeardAddsUp(t *testing.T) {
	rng := rand.New(rand.NewPCG(5, 1))
	for range 200 {
		b := make(Belief, len(trade.Roles))
		total := 0.0
		for r := range b {
			b[r] = rng.ExpFloat64()
			total += b[r]
		}
		for r := range b {
			b[r] /= total
		}
		list := heardOf([]Belief{b}, 0)
		sum := 0.0
		for _, h := range list {
			sum += h.Probability
			assert.GreaterOrEqual(t, h.Probability, 0.0)
			assert.InDelta(t, b[slices.Index(trade.Roles, h.Role)], h.Probability, 0.0011)
		}
		assert.InDelta(t, 1, sum, 1e-9)
		assert.True(t, slices.IsSortedFunc(list, func(a, b sheet.Heard) int { return cmp.Compare(b.Probability, a.Probability) }))
	}
}
