package kinship

import (
	"math"
	"slices"
)

const (
	envelopeDepth = 45.0 // dB below a band's peak at which its envelope is clamped
	compareFrames = 1024
	bandDepth     = 50.0 // bands this far below the loudest do not count
)

// likeness compares two envelopes on the time they have in common: the lower quartile over the bands of the
// correlation coefficient of the levels in dB, and the mean absolute difference of the bands' mean powers, over the
// frames in which both tracks sound, in dB after the median difference is taken off. Without a band that sounds in
// both, or without 8 frames in which they sound together, it gives 0 and +Inf.
func likeness(a, b *Sketch) (steadiness, profile float64) {
	x, y, _ := overlap(a, b)
	n := len(x) / bands
	if n < 8 {
		return 0, math.Inf(1)
	}
	topX, topY := peaks(x), peaks(y)
	loudX, loudY := slices.Max(topX[:]), slices.Max(topY[:])
	var rs, diffs []float64
	both := together(x, y)
	if len(both) < 8 {
		return 0, math.Inf(1)
	}
	for k := range bands {
		if topX[k] < loudX-bandDepth || topY[k] < loudY-bandDepth || topX[k] == 0 || topY[k] == 0 {
			continue
		}
		rs = append(rs, correlation(x[k:], y[k:], topX[k]-envelopeDepth, topY[k]-envelopeDepth))
		var px, py float64
		for _, f := range both {
			px += envelopePower(x[f*bands+k])
			py += envelopePower(y[f*bands+k])
		}
		if px > 0 && py > 0 {
			diffs = append(diffs, 10*math.Log10(px/py))
		}
	}
	if len(rs) == 0 || len(diffs) == 0 {
		return 0, math.Inf(1)
	}
	slices.Sort(rs)
	return rs[len(rs)/4], spreadAbout(diffs)
}

// correlation is Pearson's coefficient of every bands-th level of x and y in dB, clamped from below; 0 if one of them
// does not move.
func correlation(x, y []uint8, floorX, floorY float64) float64 {
	var n, sx, sy, sxx, syy, sxy float64
	for i := 0; i < len(x); i += bands {
		u := max(float64(x[i])/codesPerDB, floorX)
		v := max(float64(y[i])/codesPerDB, floorY)
		n++
		sx += u
		sy += v
		sxx += u * u
		syy += v * v
		sxy += u * v
	}
	vx, vy := sxx-sx*sx/n, syy-sy*sy/n
	if !(vx > 1e-9*sxx) || !(vy > 1e-9*syy) {
		return 0
	}
	return (sxy - sx*sy/n) / math.Sqrt(vx*vy)
}

// together lists the frames in which both envelopes are within 30 dB of their loudest frame.
func together(x, y []uint8) []int {
	px, py := framePowers(x), framePowers(y)
	gateX, gateY := slices.Max(px)*1e-3, slices.Max(py)*1e-3
	var both []int
	for f := range px {
		if px[f] > gateX && py[f] > gateY {
			both = append(both, f)
		}
	}
	return both
}

// framePowers is the sum over the bands of each frame.
func framePowers(env []uint8) []float64 {
	p := make([]float64, len(env)/bands)
	for f := range p {
		for _, c := range env[f*bands : (f+1)*bands] {
			p[f] += envelopePower(c)
		}
	}
	return p
}

// peaks is the highest level of each band in dB above code 0.
func peaks(env []uint8) (top [bands]float64) {
	for i, c := range env {
		top[i%bands] = max(top[i%bands], float64(c)/codesPerDB)
	}
	return top
}

// overlap cuts both envelopes to the time they share, at the coarser of the two hops, of which so many are left out
// that 1024 frames or fewer remain.
func overlap(a, b *Sketch) (x, y []uint8, hop float64) {
	if !(a.HopSeconds > 0) || !(b.HopSeconds > 0) || a.Frames() == 0 || b.Frames() == 0 {
		return nil, nil, 0
	}
	start := max(a.StartSeconds, b.StartSeconds)
	end := min(a.StartSeconds+float64(a.Frames())*a.HopSeconds, b.StartSeconds+float64(b.Frames())*b.HopSeconds)
	hop = max(a.HopSeconds, b.HopSeconds)
	if !(end > start) {
		return nil, nil, 0
	}
	hop *= math.Ceil((end - start) / hop / compareFrames)
	n := min(int((end-start)/hop), compareFrames)
	return a.sampled(start, hop, n), b.sampled(start, hop, n), hop
}

// sampled reads n frames of the envelope from the nearest ones at the times start + i hop.
func (s *Sketch) sampled(start, hop float64, n int) []uint8 {
	first := (start - s.StartSeconds) / s.HopSeconds
	frames := s.Frames()
	if math.Abs(hop-s.HopSeconds) < 1e-9 {
		at := int(first + 0.5)
		if at >= 0 && at+n <= frames {
			return s.Envelope[at*bands : (at+n)*bands]
		}
	}
	out := make([]uint8, n*bands)
	for i := range n {
		f := int(first + float64(i)*hop/s.HopSeconds + 0.5)
		f = min(max(f, 0), frames-1)
		copy(out[i*bands:(i+1)*bands], s.Envelope[f*bands:])
	}
	return out
}

// padded reads n frames at the times start + i hop; where the track has none, there is silence.
func (s *Sketch) padded(start, hop float64, n int) []uint8 {
	out := make([]uint8, n*bands)
	first := (start - s.StartSeconds) / s.HopSeconds
	for i := range n {
		f := int(math.Floor(first + float64(i)*hop/s.HopSeconds + 0.5))
		if f >= 0 && f < s.Frames() {
			copy(out[i*bands:(i+1)*bands], s.Envelope[f*bands:(f+1)*bands])
		}
	}
	return out
}
