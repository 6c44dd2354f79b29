package kinship

import (
	"math"
	"slices"

	"foldout/features/vec"
)

const (
	envelopeDepth = 45 // dB below a band's peak at which its envelope is clamped
	compareFrames = 1024
	bandDepth     = 50 // bands this far below the loudest do not count
)

// matching compares envelopes. It keeps room for the levels of two tracks, so one goroutine has one.
type matching struct {
	x, y [bands]rising
}

// rising is a band's course: each frame's code above a floor, and the sums that a correlation needs. Codes are whole
// numbers of 0 to 90 and frames 1024 at most, so that float32 holds all sums exactly.
type rising struct {
	level       []float32
	sum, square float64
}

const depth = envelopeDepth * codesPerDB

// take reads band k of an envelope whose highest code in that band is top, with a tail that falls by fall codes a frame; 0
// stands for none.
func (r *rising) take(env []uint8, k int, top uint8, fall float64) {
	n := len(env) / bands
	r.level = slices.Grow(r.level[:0], n)[:n]
	floor := int(top) - depth
	if fall > 0 {
		const one, half = 1 << 16, 1 << 15
		step, level := int(fall*one+0.5), 0
		for f := range r.level {
			level = max(int(env[f*bands+k])*one, level-step)
			r.level[f] = float32(max((level+half)/one-floor, 0))
		}
	} else {
		for f := range r.level {
			r.level[f] = float32(max(int(env[f*bands+k])-floor, 0))
		}
	}
	var sum float32
	for _, v := range r.level {
		sum += v
	}
	r.sum, r.square = float64(sum), float64(vec.Dot(r.level, r.level))
}

// correlation is Pearson's coefficient of two courses of one length; 0 if one of them does not move.
func (r *rising) correlation(s *rising) float64 {
	n := float64(len(r.level))
	vx, vy := r.square-r.sum*r.sum/n, s.square-s.sum*s.sum/n
	if !(vx > 1e-9*r.square) || !(vy > 1e-9*s.square) {
		return 0
	}
	return (float64(vec.Dot(r.level, s.level)) - r.sum*s.sum/n) / math.Sqrt(vx*vy)
}

// heard lists the bands that sound in both envelopes, given the highest code of each.
func heard(topX, topY *[bands]uint8) []int {
	const reach = bandDepth * codesPerDB
	loudX, loudY := int(slices.Max(topX[:])), int(slices.Max(topY[:]))
	var use []int
	for k := range bands {
		if x, y := int(topX[k]), int(topY[k]); x > 0 && y > 0 && x >= loudX-reach && y >= loudY-reach {
			use = append(use, k)
		}
	}
	return use
}

// likeness compares two envelopes on the time they have in common: the lower quartile over the bands of the
// correlation coefficient of the levels in dB, and the mean absolute difference of the bands' mean powers, over the
// frames in which both tracks sound, in dB after the median difference is taken off. Without a band that sounds in
// both, or without 8 frames in which they sound together, it gives 0 and +Inf.
func (m *matching) likeness(a, b *Sketch) (steadiness, profile float64) {
	x, y, _ := overlap(a, b)
	n := len(x) / bands
	if n < 8 {
		return 0, math.Inf(1)
	}
	both := together(x, y)
	if len(both) < 8 {
		return 0, math.Inf(1)
	}
	topX, topY := peakCodes(x), peakCodes(y)
	use := heard(&topX, &topY)
	var rs, diffs []float64
	var px, py [bands]float64
	for _, f := range both {
		for k := range bands {
			px[k] += envelopePower(x[f*bands+k])
			py[k] += envelopePower(y[f*bands+k])
		}
	}
	for _, k := range use {
		m.x[k].take(x, k, topX[k], 0)
		m.y[k].take(y, k, topY[k], 0)
		rs = append(rs, m.x[k].correlation(&m.y[k]))
		if px[k] > 0 && py[k] > 0 {
			diffs = append(diffs, 10*math.Log10(px[k]/py[k]))
		}
	}
	if len(rs) == 0 || len(diffs) == 0 {
		return 0, math.Inf(1)
	}
	slices.Sort(rs)
	return rs[len(rs)/4], spreadAbout(diffs)
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

// peakCodes is the highest code of each band.
func peakCodes(env []uint8) (top [bands]uint8) {
	for ; len(env) >= bands; env = env[bands:] {
		for k, c := range env[:bands] {
			top[k] = max(top[k], c)
		}
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
