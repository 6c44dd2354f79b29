package demo

import "math"

// shaker is a box of grains: their collisions, more while the hand turns, ring the shell (after Cook, Computer Music
// Journal 21(3), 1997).
func shaker() []float64 {
	r := newRand("shaker")
	var hits []note
	for beat := 0.0; beat < ending; beat += 0.25 {
		if beat < verse {
			continue
		}
		strength := []float64{0.9, 0.45, 0.65, 0.45}[int(beat*4)%4]
		hits = append(hits, note{beat, 0.25, 0, strength})
	}
	drive := make([]float64, samples(lengthS))
	for _, h := range humanise(hits, r, 0.006) {
		n := samples(0.11)
		at := samples(seconds(h.beat) - 0.03)
		for i := range n {
			t := float64(i) / rate
			e := h.strength * math.Exp(-math.Pow((t-0.03)/0.02, 2))
			if t > 0.03 {
				e = h.strength * math.Exp(-(t-0.03)/0.032)
			}
			if r.Float64() < 0.5*e+0.02 && at+i < len(drive) {
				drive[at+i] += e * (r.Float64() - 0.5)
			}
		}
	}
	out := make([]float64, len(drive))
	for _, p := range []struct{ hz, q, gain float64 }{{3900, 2, 0.6}, {6300, 2.5, 1}, {9400, 2.5, 0.7}} {
		x := append([]float64(nil), drive...)
		through(x, bandPass(p.hz, p.q))
		mixInto(out, x, 0, p.gain)
	}
	through(out, highPass(2200, 0.7))
	compress(-14, 3, 0.001, 0.06, out)
	return out
}

// tambourine is a ring of small plates that strike each other in pairs.
func tambourine() []float64 {
	r := newRand("tambourine")
	var hits []note
	for beat := chorus; beat < ending; beat += 0.5 {
		strength := 0.35
		if math.Mod(beat, 2) == 1 {
			strength = 1
		}
		hits = append(hits, note{beat, 0.5, 0, strength})
	}
	hits = append(hits, note{ending, 1, 0, 1})
	var jingles []mode
	for range 28 {
		jingles = append(jingles, mode{between(r, 3200, 13500), between(r, 0.012, 0.05), 0, 0})
	}
	out := make([]float64, samples(lengthS))
	for _, h := range humanise(hits, r, 0.006) {
		grains := 6 + int(14*h.strength)
		for range grains {
			late := 0.035 * r.ExpFloat64() * (0.5 + h.strength)
			x := make([]float64, samples(0.2))
			var m []mode
			for range 7 {
				j := jingles[r.IntN(len(jingles))]
				j.hz *= between(r, 0.995, 1.005)
				j.amp, j.phase = 0.12*h.strength*math.Exp(-late/0.08)*r.Float64(), between(r, 0, 6.28)
				m = append(m, j)
			}
			ring(x, m)
			fade(x, 4, len(x)/4)
			mixInto(out, x, samples(seconds(h.beat)+late), 1)
		}
	}
	return out
}
