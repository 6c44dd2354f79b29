package fold

import (
	"foldout/plan/sheet"
)

// maskOffsetDB is how far below a masker, in the same octave band, what it covers ends. Simultaneous masking by
// noise-like maskers ends a few decibels below them, by tones some 15 dB below; 6 dB stands between (chosen).
const maskOffsetDB = 6.0

// overlaps fills in the register overlap inside pairs and across them.
//
// For track i and octave band b, with P its mean square there while it sounds, M the sum over the maskers j of their
// share of active time times their mean square, and M' = M less 6 dB, the track is covered by M'/(P + M'). The track's
// overlap is the mean of that over the bands, weighted with the track's own energy in them; a pair's is the mean of its
// tracks. Inside, the maskers are the others on the pair; across, all tracks of other pairs.
//
// Inspired by the masked-to-unmasked ratio of Vega and Janer (Quantifying masking in multi-track recordings, SMC 2010)
// and the levels compared per track by Aichinger et al. (Describing the transparency of mixdowns: the
// masked-to-unmasked ratio, AES 130, 2011), on long-term octave bands instead of a model of hearing.
func (m *Merits) overlaps(f *sheet.Figures, labels []int) {
	const octaves = 10
	inside := make([][octaves]float64, len(f.Pairs))
	var all [octaves]float64
	for p, l := range labels {
		if l < 0 {
			continue
		}
		share := m.s.Tracks[m.s.Live[p]].Profile.ActiveShare
		for b, w := range m.bands[p] {
			inside[l][b] += share * w
			all[b] += share * w
		}
	}
	offset := power(-maskOffsetDB)
	var within, across float64
	n := 0
	for p, l := range labels {
		if l < 0 {
			continue
		}
		share := m.s.Tracks[m.s.Live[p]].Profile.ActiveShare
		var in, out, own float64
		for b, w := range m.bands[p] {
			own += w
			in += w * covered(w, offset*max(inside[l][b]-share*w, 0))
			out += w * covered(w, offset*max(all[b]-inside[l][b], 0))
		}
		if own <= 0 {
			continue
		}
		f.Pairs[l].RegisterOverlap += in / own / float64(f.Pairs[l].Tracks)
		within += in / own
		across += out / own
		n++
	}
	for l := range f.Pairs {
		f.Pairs[l].RegisterOverlap = sheet.Round(f.Pairs[l].RegisterOverlap, 3)
	}
	if n > 0 {
		f.RegisterOverlap, f.OverlapAcross = sheet.Round(within/float64(n), 3), sheet.Round(across/float64(n), 3)
	}
}

// covered is the part of power p that masker power q covers.
func covered(p, q float64) float64 {
	if p+q <= 0 {
		return 0
	}
	return q / (p + q)
}
