package homes

import (
	"math"
	"math/rand/v2"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/plan/trade"
)

// The prior of all homes, by which chains are weighed, counts an idle pair and a second home once, however many roles
// there are (by hand from the model's definition).
func TestThePriorOfHomesCountsEachThingOnce(t *testing.T) {
	unit := func(role string, pair int) Unit {
		u := Unit{On: []int{pair}, Belief: make([]float64, len(trade.Roles))}
		u.Belief[trade.RoleIndex[role]] = 1
		return u
	}
	h := New([]Unit{unit("electric guitar", 0), unit("acoustic guitar", 0), unit("electric guitar", 1)}, 2, nil)
	electric, acoustic := trade.RoleIndex["electric guitar"], trade.RoleIndex["acoustic guitar"]
	h.at[electric], h.at[acoustic] = [2]int{0, -1}, [2]int{0, -1}
	assert.InDelta(t, -idleNats, h.prior(), 1e-12)
	h.at[electric] = [2]int{0, 1}
	assert.InDelta(t, -secondNats, h.prior(), 1e-12)
}

// What the units say of all homes of a role is a sum over the units of the logarithm of their probability (the model's
// definition), however it is gathered: random sessions, tied units on one pair and on several.
func TestWhatUnitsSayIsTheSumOfTheirProbabilities(t *testing.T) {
	rng := rand.New(rand.NewPCG(1, 2))
	for range 20 {
		pairs := 1 + rng.IntN(5)
		var units []Unit
		for range 1 + rng.IntN(20) {
			u := Unit{Belief: make([]float64, len(trade.Roles)), Free: rng.Float64() / 2}
			for range 1 + rng.IntN(3) {
				u.On = append(u.On, rng.IntN(pairs))
			}
			var sum float64
			for r := range u.Belief {
				u.Belief[r] = math.Exp(6 * rng.NormFloat64())
				sum += u.Belief[r]
			}
			for r := range u.Belief {
				u.Belief[r] /= sum
			}
			units = append(units, u)
		}
		h := New(units, pairs, nil)
		h.start(rng, false)
		h.stray = 0.15
		for _, r := range h.roles {
			h.keepParts(r)
		}
		for _, r := range h.roles {
			say := h.hear(r)
			for a := range pairs {
				for b := -1; b < pairs; b++ {
					if b >= 0 && b <= a {
						continue
					}
					h.at[r] = [2]int{a, b}
					var want float64
					for i := range units {
						u := &units[i]
						if u.Belief[r] < leastBelief {
							continue
						}
						p := h.freePart(u)
						for _, o := range h.roles {
							if u.Belief[o] >= leastBelief {
								p += h.part(u, o)
							}
						}
						want += math.Log(p)
					}
					assert.InDelta(t, want, say.of(h, r), 1e-9)
				}
			}
			h.at[r] = [2]int{rng.IntN(pairs), -1}
			h.keepParts(r)
		}
	}
}
