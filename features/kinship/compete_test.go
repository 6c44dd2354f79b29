package kinship

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Who feeds whom is invented; what must come of it follows from the rule each case is named after.
func TestExplanationsCompete(t *testing.T) {
	fed := func(a, b int, share float64) Relation {
		return Relation{A: a, B: b, Kind: Return, Confidence: 0.9, Share: share}
	}
	beyond := func(a, b int, share float64) Relation {
		return Relation{A: a, B: b, Kind: Return, Confidence: 0.97, Share: share}
	}
	bleed := func(a, b int) Relation { return Relation{A: a, B: b, Kind: Bleed, Confidence: 0.9} }
	sum := func(a, b int, share float64) Relation {
		return Relation{A: a, B: b, Kind: Sum, Confidence: 0.95, Share: share}
	}
	for _, c := range []struct {
		name      string
		relations []Relation
		binds     []bool
	}{
		{"one source through a tail", []Relation{fed(1, 0, 0.6)}, []bool{true}},
		{"two sources that are strangers", []Relation{fed(2, 0, 0.4), fed(2, 1, 0.3)}, []bool{true, true}},
		{"nothing of it is explained", []Relation{fed(1, 0, 0.02), sum(3, 2, 0.01)}, []bool{false, false}},
		{"nothing of it is explained, and yet there is no doubt", []Relation{beyond(1, 0, 0.02)}, []bool{true}},
		{"no doubt, but another track explains it", []Relation{beyond(2, 0, 0.02), fed(2, 1, 0.5)}, []bool{false, true}},
		{"a far pair that hears both sources", []Relation{fed(3, 0, 0.4), fed(3, 1, 0.3), fed(3, 2, 0.8), bleed(0, 2), bleed(1, 2)}, []bool{true, true, false, false, false}},
		{"microphones that all hear one another", []Relation{fed(3, 0, 0.4), fed(3, 1, 0.3), fed(3, 2, 0.8), bleed(0, 1), bleed(0, 2), bleed(1, 2)}, []bool{true, true, true, false, false, false}},
		{"a bus whose members are heard themselves", []Relation{sum(2, 0, 0.5), sum(2, 1, 0.4), fed(3, 2, 0.7), bleed(0, 3)}, []bool{true, true, false, false}},
		{"a bus that alone feeds it", []Relation{sum(2, 0, 0.5), sum(2, 1, 0.4), fed(3, 2, 0.7)}, []bool{true, true, true}},
	} {
		compete(c.relations)
		for i, want := range c.binds {
			assert.Equal(t, want, c.relations[i].Binding(), "%s: %+v", c.name, c.relations[i])
		}
	}
}
