package homes

import (
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
	h := New([]Unit{unit("electric guitar", 0), unit("acoustic guitar", 0), unit("electric guitar", 1)}, 2)
	electric, acoustic := trade.RoleIndex["electric guitar"], trade.RoleIndex["acoustic guitar"]
	h.at[electric], h.at[acoustic] = [2]int{0, -1}, [2]int{0, -1}
	assert.InDelta(t, -idleNats, h.prior(), 1e-12)
	h.at[electric] = [2]int{0, 1}
	assert.InDelta(t, -secondNats, h.prior(), 1e-12)
}
