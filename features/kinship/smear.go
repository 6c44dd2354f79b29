package kinship

import "slices"

// decays are the reverberation times tried for a tail, in seconds; 0 is none.
var decays = [...]float64{0, 0.4, 0.8, 1.5, 3}

// follows tells how well an envelope runs along with that of a possible source once the source is given an exponential
// tail: the best over the reverberation times of the lower quartile over the bands of the correlation of the levels
// in dB. A tail falls 60 dB in that time, which in codes is a straight line. It says nothing on its own, as everything in
// a song is played to one grid. Frames are hop seconds apart.
func follows(source, derived *stretch, hop float64) (fit float64) {
	if source.frames() < 8 {
		return 0
	}
	use := heard(&source.top, &derived.top)
	if len(use) == 0 {
		return 0
	}
	rs := make([]float64, len(use))
	for _, t60 := range decays {
		fall := 0.0
		if t60 > 0 {
			fall = 60 * hop / t60 * codesPerDB
		}
		correlations(source, derived, use, fall, rs)
		slices.Sort(rs)
		fit = max(fit, rs[len(rs)/4])
	}
	return fit
}
