package levels

import (
	"context"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
)

// ITU-R BS.1770-5: a sine of 997 Hz at 0 dBFS in one channel reads -3.01 LKFS, so at -20 dBFS in both -20. The same sine
// on two tracks adds up to 6.02 dB more, not to the 3.01 that adding the powers of the tracks would give.
func TestLoudnessIsThatOfTheSum(t *testing.T) {
	dir := t.TempDir()
	x := tone(997, -20, 5)
	put(t, dir, "a.wav", x, x)
	put(t, dir, "b.wav", x, x)
	put(t, dir, "silent.wav", make([]float64, rate), make([]float64, rate))
	set := func(files ...string) (out []sheet.Placement) {
		for _, f := range files {
			out = append(out, sheet.Placement{File: f})
		}
		return out
	}
	loud, err := Loudness(context.Background(), [][]sheet.Placement{set("a.wav"), set("a.wav", "b.wav"), set(), set("silent.wav")}, Options{Folder: dir})
	require.NoError(t, err)
	near(t, -20, loud[0], 0.05, "one track")
	near(t, -20+20*math.Log10(2), loud[1], 0.05, "the same twice")
	assert.False(t, sheet.MeasuredLevel(loud[2]))
	assert.False(t, sheet.MeasuredLevel(loud[3]))
}
