package loudness

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// Layouts of BS.1770-5 (table 3 for 5.1; Annex 3 table 4: 1.41 from 60 to 120 degrees, the LFE left out) under the masks
// that the format's definition (WAVEFORMATEXTENSIBLE, ksmedia.h) gives them.
func TestWeightsOfMasks(t *testing.T) {
	const s = 1.41
	for _, c := range []struct {
		name     string
		channels int
		mask     uint32
		want     []float64
	}{
		{"mono", 1, 0x4, []float64{1}},
		{"stereo", 2, 0x3, []float64{1, 1}},
		{"2.1", 3, 0xB, []float64{1, 1, 0}},
		{"3.0", 3, 0x7, []float64{1, 1, 1}},
		{"quad", 4, 0x33, []float64{1, 1, s, s}},
		{"4.0 with a back centre", 4, 0x107, []float64{1, 1, 1, 1}},
		{"5.0 back", 5, 0x37, []float64{1, 1, 1, s, s}},
		{"5.0 side", 5, 0x607, []float64{1, 1, 1, s, s}},
		{"5.1 back", 6, 0x3F, []float64{1, 1, 1, 0, s, s}},
		{"5.1 side", 6, 0x60F, []float64{1, 1, 1, 0, s, s}},
		{"7.1", 8, 0x63F, []float64{1, 1, 1, 0, 1, 1, s, s}},
		{"stereo with two channels more", 4, 0x3, []float64{1, 1, 1, 1}},
		{"no mask, 5", 5, 0, []float64{1, 1, 1, s, s}},
		{"no mask, 6", 6, 0, []float64{1, 1, 1, 0, s, s}},
		{"no mask, 8", 8, 0, []float64{1, 1, 1, 1, 1, 1, 1, 1}},
		{"no channels", 0, 3, []float64{}},
	} {
		assert.Equal(t, c.want, Weights(c.channels, c.mask), c.name)
	}
}
