package levels

import (
	"context"
	"fmt"
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

// However sets overlap, the loudness of each is that of its tracks summed by themselves. Tones of different pitch add their
// powers (to 0.05 dB over five seconds; Parseval).
func TestSetsThatOverlapAreSummedOnce(t *testing.T) {
	dir := t.TempDir()
	names := []string{"a", "b", "c", "d", "e", "f"}
	for i, name := range names {
		x := tone(900+20*float64(i), -20-3*float64(i), 5)
		put(t, dir, name+".wav", x, x)
	}
	var sets [][]sheet.Placement
	for mask := range 1 << len(names) {
		var set []sheet.Placement
		for i, name := range names {
			if mask>>i&1 == 1 {
				set = append(set, sheet.Placement{File: name + ".wav"})
			}
		}
		sets = append(sets, set)
	}
	loud, err := Loudness(context.Background(), sets, Options{Folder: dir})
	require.NoError(t, err)
	for mask := 1; mask < len(sets); mask++ {
		power := 0.0
		for i := range names {
			if mask>>i&1 == 1 {
				power += math.Pow(10, float64(loud[1<<i])/10)
			}
		}
		near(t, 10*math.Log10(power), loud[mask], 0.05, fmt.Sprintf("set %b", mask))
	}
	ctx, cancel := context.WithCancel(context.Background())
	cancel()
	_, err = Loudness(ctx, sets, Options{Folder: dir})
	require.ErrorIs(t, err, context.Canceled)
}
