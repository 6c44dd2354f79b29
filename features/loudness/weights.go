package loudness

import "math/bits"

// Loudspeakers of a channel mask (WAVEFORMATEXTENSIBLE; the channels come in the order of the bits).
const (
	backLeft  = 1 << 4
	backRight = 1 << 5
	sideLeft  = 1 << 9
	sideRight = 1 << 10

	lowFrequency  = 1 << 3
	lowFrequency2 = 1 << 23 // of 22.2 layouts
)

// surround is G of BS.1770-5 for 60 to 120 degrees to the side, below 30 degrees of elevation: about 1.5 dB.
const surround = 1.41

// Weights returns the weight of each channel: 1, 1.41 for the surrounds, 0 for the LFE (BS.1770-5 Annex 1 table 3, Annex 3
// table 4).
//
// A mask of loudspeakers decides where there is one: the sides are surrounds; so are the back ones where there are no
// sides, for then they are the surrounds of a 5.1 layout, at 110 degrees; with sides beside them they stand behind, at 135
// to 150. Channels beyond the mask belong to no loudspeaker and count 1. Without a mask five channels are taken as L R C Ls
// Rs and six as L R C LFE Ls Rs, and with any other number every channel counts 1.
func Weights(channels int, mask uint32) []float64 {
	w := make([]float64, channels)
	for c := range w {
		w[c] = 1
	}
	if mask == 0 {
		if channels == 5 || channels == 6 {
			w[channels-2], w[channels-1] = surround, surround
		}
		if channels == 6 {
			w[3] = 0
		}
		return w
	}
	surrounds := uint32(sideLeft | sideRight)
	if mask&surrounds == 0 {
		surrounds = backLeft | backRight
	}
	for c := 0; c < channels && mask != 0; c++ {
		speaker := uint32(1) << bits.TrailingZeros32(mask)
		mask &^= speaker
		switch {
		case speaker&(lowFrequency|lowFrequency2) != 0:
			w[c] = 0
		case speaker&surrounds != 0:
			w[c] = surround
		}
	}
	return w
}
