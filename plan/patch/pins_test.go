package patch

import (
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/rig"
)

// The 24 pins of AES59-2012 (analogue), transcribed by channel from the published table; pin 13 is not connected.
func TestDSubPinsAreThoseOfAES59(t *testing.T) {
	hot := []int{24, 10, 21, 7, 18, 4, 15, 1}
	cold := []int{12, 23, 9, 20, 6, 17, 3, 14}
	ground := []int{25, 11, 22, 8, 19, 5, 16, 2}
	for ch := 1; ch <= 8; ch++ {
		h, c, g, ok := DSubPins(ch)
		require.True(t, ok)
		assert.Equal(t, []int{hot[ch-1], cold[ch-1], ground[ch-1]}, []int{h, c, g}, "channel %d", ch)
	}
	for _, ch := range []int{-1, 0, 9} {
		_, _, _, ok := DSubPins(ch)
		assert.False(t, ok)
	}
}

func TestEachPinIsUsedOnce(t *testing.T) {
	used := map[int]int{}
	for ch := 1; ch <= 8; ch++ {
		h, c, g, _ := DSubPins(ch)
		used[h]++
		used[c]++
		used[g]++
	}
	assert.Len(t, used, 24)
	for pin := 1; pin <= 25; pin++ {
		want := 1
		if pin == 13 {
			want = 0
		}
		assert.Equal(t, want, used[pin], "pin %d", pin)
	}
}

// Channels 1 to 8 are on the first D-type, 9 to 16 on the second (AES59: eight channels each). XLR 2 hot, 3 cold, 1
// screen (AES14-1992); jack tip hot, ring cold, sleeve screen (common practice).
func TestEnds(t *testing.T) {
	cases := []struct {
		connector string
		n         int
		want      End
		words     string
	}{
		{rig.DSub, 1, End{rig.DSub, 1, 1, "24", "12", "25"}, "D-type 1, channel 1"},
		{rig.DSub, 8, End{rig.DSub, 1, 8, "1", "14", "2"}, "D-type 1, channel 8"},
		{rig.DSub, 9, End{rig.DSub, 2, 1, "24", "12", "25"}, "D-type 2, channel 1"},
		{rig.DSub, 40, End{rig.DSub, 5, 8, "1", "14", "2"}, "D-type 5, channel 8"},
		{rig.XLR, 5, End{rig.XLR, 5, 1, "2", "3", "1"}, "XLR 5"},
		{rig.TRS, 5, End{rig.TRS, 5, 1, "tip", "ring", "sleeve"}, "TRS 5"},
	}
	for _, c := range cases {
		assert.Equal(t, c.want, end(c.connector, c.n))
		assert.Equal(t, c.words, c.want.String())
	}
}
