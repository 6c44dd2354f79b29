package kinship

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Four voices in unison and a bass, mixed at gains that are known, the last 9.5 dB down, coloured, and 5 ms late.
func TestAMixOfVoicesInUnisonIsExplained(t *testing.T) {
	if underRaceDetector {
		t.Skip("one goroutine makes the sound")
	}
	var sketches []Sketch
	var mix []float32
	gains := []float64{1, 1, 0.5, 1, 0.333}
	for i, g := range gains {
		x := notes(songSeconds, testRate, 1, uint64(i))
		if i == 3 {
			x = filtered(notes(songSeconds, testRate, 2, 9), testRate, 300, 0.2)
		}
		sketches = append(sketches, sketchOf(testRate, 0, x))
		if mix == nil {
			mix = make([]float32, len(x))
		}
		mix = sum(mix, gain(x, g))
	}
	stranger := notes(songSeconds, testRate, 5, 5)
	sketches = append(sketches, sketchOf(testRate, 0, delayed(filtered(mix, testRate, 900, 0.6), 240)), sketchOf(testRate, 0, stranger))
	explained, parts := Mixed(sketches, 5, []int{0, 1, 2, 3, 4})
	require.Len(t, parts, len(gains))
	assert.Greater(t, explained, 0.95)
	db := map[int]float64{}
	for _, p := range parts {
		db[p.Track] = p.GainDB
	}
	assert.InDelta(t, -6, db[2]-db[0], 1.5)
	assert.InDelta(t, -9.5, db[4]-db[0], 1.5)
	none, _ := Mixed(sketches, 6, []int{0, 1, 2, 3, 4})
	assert.Less(t, none, 0.2, "another tune in the same key")
	silent, parts := Mixed(append(sketches, Sketch{}), 7, []int{0, 1})
	assert.Zero(t, silent)
	assert.Empty(t, parts)
}
