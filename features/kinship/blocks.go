package kinship

import "math"

// LevelsDB returns the level of each block of that many frames of the envelope, dB re full scale squared: the mean over its
// frames of the power in all bands. Blocks without sound are minus infinity. Fewer than one frame counts as one.
func (s *Sketch) LevelsDB(frames int) []float64 {
	frames = max(1, frames)
	var out []float64
	for at := 0; at < s.Frames(); at += frames {
		end := min(at+frames, s.Frames())
		var power float64
		for _, c := range s.Envelope[at*bands : end*bands] {
			power += envelopePower(c)
		}
		out = append(out, 10*math.Log10(power/float64(end-at)))
	}
	return out
}
