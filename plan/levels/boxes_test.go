package levels

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// By hand: Rack A is 6 dB hotter, so its pairs go 6 dB lower than those of Rack B; pair 2 may rise least: by 1 dB less the 6 dB.
func TestInterfacesThatDifferAreTrimmedApart(t *testing.T) {
	pairs := []Pair{
		{Number: 1, Interface: "Rack A", FullScaleDBu: 24, Trim: Trim{GainDB: 3, Limit: "true peak"}},
		{Number: 2, Interface: "Rack B", FullScaleDBu: 18, Trim: Trim{GainDB: 1, Limit: "true peak"}},
		{Number: 3, Interface: "Rack B", FullScaleDBu: 18, Trim: Trim{Limit: "silent"}},
	}
	l := &Levels{Pairs: pairs, Interfaces: boxes(pairs)}
	assert.True(t, l.Differ())
	assert.Equal(t, map[int]float64{1: -5, 2: 1, 3: 1}, l.PairGains())
	assert.Equal(t, "the interfaces put out different levels at 0 dBFS (Rack A +24 dBu, Rack B +18 dBu), so the hotter pairs reach the unit louder than the mix has them; trims that keep its balance: all pairs of Rack A -5.0 dB, of Rack B +1.0 dB", l.differWords())
	pairs[0].FullScaleDBu = 18
	l.Interfaces = boxes(pairs)
	assert.False(t, l.Differ())
	assert.Equal(t, 1.0, l.PairGains()[1], "the common trim")
	assert.Equal(t, common(pairs).GainDB, l.PairGains()[1])
}
