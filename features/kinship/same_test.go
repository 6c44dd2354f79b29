package kinship

import (
	"fmt"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// TestTheSameSessionHasTheSameRelations plays one invented session as it is, 12 dB down with 3.37 s of silence before and 2 s after, and at
// 44.1 kHz besides: what binds, and how, must not change (testdata/kinship/same.py does it with rendered sessions).
func TestTheSameSessionHasTheSameRelations(t *testing.T) {
	if underRaceDetector {
		t.Skip("one goroutine makes the sound")
	}
	play := func(rate int, level float64, before, after float64) []string {
		dry, bass := notes(songSeconds, rate, 1, 1), gain(filtered(notes(songSeconds, rate, 2, 2), rate, 300, 0.1), 2)
		pad := func(x []float32) []float32 {
			out := make([]float32, int(before*float64(rate)), int(before*float64(rate))+len(x)+int(after*float64(rate)))
			out = append(out, gain(x, level)...)
			return out[:cap(out)]
		}
		tracks := [][][]float32{
			{dry}, {bass}, {notes(songSeconds, rate, 3, 3)},
			{filtered(dry, rate, 800, 4)},                                      // a copy of 0
			{squeezed(bass, rate, 0.02)},                                       // 1 through a compressor
			{hall(dry, rate, 1.2, 1), hall(dry, rate, 1.2, 2)},                 // 0 through a hall
			{sum(delayed(bass, 3*rate/8), gain(delayed(bass, 6*rate/8), 0.5))}, // 1 through an echo
		}
		sketches := make([]Sketch, len(tracks))
		for i, planes := range tracks {
			for c := range planes {
				planes[c] = pad(planes[c])
			}
			sketches[i] = sketchOf(rate, 0, planes...)
		}
		var out []string
		for _, r := range Relate(sketches) {
			switch {
			case !r.Binding():
			case r.Kind == Processed: // or a copy, where which was first cannot be told
				out = append(out, fmt.Sprintf("%d copy %d", min(r.A, r.B), max(r.A, r.B)))
			default:
				out = append(out, fmt.Sprintf("%d %s %d", r.A, r.Kind, r.B))
			}
		}
		slices.Sort(out)
		return out
	}
	want := play(48000, 1, 0, 0)
	require.NotEmpty(t, want)
	assert.Contains(t, want, "5 return 0")
	assert.Equal(t, want, play(48000, 0.25, 3.37, 2), "12 dB down, silence around")
	assert.Equal(t, want, play(44100, 0.25, 3.37, 2), "at 44.1 kHz as well")
}
