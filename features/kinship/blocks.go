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
			if c > 0 {
				power += codePower[c]
			}
		}
		out = append(out, 10*math.Log10(power/float64(end-at)))
	}
	return out
}

// codePower is the power that each code of the envelope stands for.
var codePower = func() (p [256]float64) {
	for c := 1; c < len(p); c++ {
		p[c] = math.Pow(10, (float64(c)/2-115)/10)
	}
	return p
}()
