package kinship

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// A bass and its fuzz, or two microphones: where a pair surely shares one sound, it is stated though neither explanation is sure,
// and both probabilities are handed on. The probabilities are invented.
func TestCopiesAndBleedAreHandedOn(t *testing.T) {
	for _, c := range []struct {
		name        string
		channels    int
		there       [7]float64 // none, copy, sides, sum, return, double, bleed
		kind        Kind
		sure        float64
		copy, bleed float64
	}{
		{"more of bleed", 1, [7]float64{0, 0.46, 0, 0, 0, 0, 0.54}, Bleed, 0.54, 0.46, 0.54},
		{"more of a copy", 1, [7]float64{0, 0.6, 0, 0, 0, 0, 0.4}, Copy, 0.6, 0.6, 0.4},
		{"neither has a half", 1, [7]float64{0.1, 0.44, 0, 0, 0, 0, 0.46}, Bleed, 0.46, 0.44, 0.46},
		{"nothing is sure", 1, [7]float64{0.4, 0.3, 0, 0, 0, 0, 0.3}, Unrelated, 0, 0, 0},
		{"a file with two channels is no side", 2, [7]float64{0, 0.6, 0.2, 0, 0, 0, 0.2}, Copy, 0.6, 0.75, 0.25},
		{"sides are the likelier kin", 1, [7]float64{0, 0.2, 0.5, 0, 0, 0, 0.3}, Sides, 0.7, 0, 0},
		{"a return", 2, [7]float64{0, 0.1, 0, 0, 0.7, 0, 0.2}, Return, 0.8, 0, 0},
	} {
		v := verdict{there: c.there}
		for _, k := range []int{hypCopy, hypSum, hypReturn} { // the other way round it is as likely, but for a return
			if k != hypReturn {
				v.there[k], v.back[k] = v.there[k]/2, v.there[k]/2
			}
		}
		all := Comparison{sketches: []Sketch{{Channels: c.channels}, {Channels: c.channels}}}
		r, ok := all.judge(&Pair{look: look{A: 0, B: 1}}, v)
		assert.Equal(t, c.kind != Unrelated, ok, c.name)
		assert.Equal(t, c.kind, r.Kind, c.name)
		assert.InDelta(t, c.sure, r.Confidence, 1e-9, c.name)
		assert.InDelta(t, c.copy, r.Copy, 1e-9, c.name)
		assert.InDelta(t, c.bleed, r.Bleed, 1e-9, c.name)
	}
}
