package text

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/features"
)

func TestFaultsAreNamed(t *testing.T) {
	p := features.Profile{NonFinite: 1, ClippedRuns: 3, DCOffset: -0.02, DurationS: 2, DualMono: true, Notes: []string{"cut short"}}
	assert.Equal(t, []string{"cut short", "1 value is no number; it counts as silence", "clipped: 3 runs of samples at full scale",
		"DC offset of -2.00 % of full scale", "both channels are the same: a mono track in a stereo file"}, Faults(&p))
	p = features.Profile{SamplePeakDBFS: features.DB(math.Inf(-1)), DCOffset: 0.0001}
	assert.Empty(t, Faults(&p))
}
