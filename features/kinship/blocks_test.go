package kinship

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// Levels by hand from the code's own definition: code c is (c/2 - 115) dB, 0 is nothing.
func TestLevelsOfBlocks(t *testing.T) {
	s := Sketch{Envelope: make([]uint8, 5*bands)}
	s.Envelope[0] = 190              // -20 dB in the first frame
	s.Envelope[1] = 190              // and again: -17 dB
	s.Envelope[2*bands+3] = 230      // 0 dB in the third of frames three and four: -3 dB
	s.Envelope[4*bands+bands-1] = 30 // -100 dB in the last, a block of one
	got := s.LevelsDB(2)
	require.Len(t, got, 3)
	assert.InDelta(t, -20, got[0], 0.02, "two bands of -20 dB over two frames")
	assert.InDelta(t, 10*math.Log10(0.5), got[1], 1e-9)
	assert.InDelta(t, -100, got[2], 1e-9)
	assert.Equal(t, []float64{math.Inf(-1)}, (&Sketch{Envelope: make([]uint8, bands)}).LevelsDB(0))
	assert.Empty(t, (&Sketch{}).LevelsDB(3))
}
