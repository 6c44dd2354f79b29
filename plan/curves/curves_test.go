package curves

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// The minus sign is U+2212 (ISO 80000-2); a rounded nothing has no side.
func TestSignsOfASentence(t *testing.T) {
	for in, want := range map[string]string{
		"Response: -0.1 dB at 30 Hz and -0.0 dB at 16 kHz.": "Response: −0.1 dB at 30 Hz and 0.0 dB at 16 kHz.",
		"-3 dB":                           "−3 dB",
		"the octave (-72 dB), lower":      "the octave (−72 dB), lower",
		"it reads -0":                     "it reads 0",
		"it is -0.0.":                     "it is 0.0.",
		"-0.05 dB, not -0.0":              "−0.05 dB, not 0.0",
		"Take-0 and 10-0 dB":              "Take-0 and 10-0 dB",
		"A-weighted, 2-4 kHz, take-3.wav": "A-weighted, 2-4 kHz, take-3.wav",
	} {
		assert.Equal(t, want, Signs(in))
	}
}
