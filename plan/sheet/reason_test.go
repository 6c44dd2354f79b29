package sheet

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The figures are invented; what the sentence may claim of them is arithmetic.
func TestAComparisonIsMadeOnlyWhereItsFiguresBearItOut(t *testing.T) {
	for _, c := range []struct {
		value, nearer, farther float64
		unit                   string
		want                   bool
	}{
		{95, 40, 20, "Hz", true},
		{95, 120, 60, "Hz", true},
		{242, 1200, 1340, "Hz", true},
		{1.4, 1.41, 1.44, "/s", false}, // both read 1.4 /s
		{10, 30, 20, "%", false},       // the other pair lies between
		{10, 30, 10, "%", false},       // or is just the same
	} {
		r := Reason{Fact: "it", Value: c.value, Unit: c.unit, Comparison: &Comparison{Nearer: "A", NearerValue: c.nearer, Farther: "B", FartherValue: c.farther}}
		assert.Equal(t, c.want, r.Convinces(), r.Text())
	}
	assert.True(t, (&Reason{Fact: "you pinned it"}).Convinces())
}
