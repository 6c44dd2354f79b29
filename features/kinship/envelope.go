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

// matching compares envelopes. It keeps what it brought to one time last, so one goroutine has one.
type matching struct {
	shared [2]shared
	next   int
}

// shared is the time that two tracks have in common, each of them later than it is by so many seconds.
type shared struct {
	a, b         *Sketch
	lateA, lateB float64
	x, y         stretch
	hop          float64 // seconds
}

// stretch is a part of an envelope and how its levels run: each frame's code above a floor, and the sums that a correlation
// needs. Levels are whole numbers of 0 to 90, so that all sums are exact.
type stretch struct {
	codes       []uint8 // frames x bands
	top         [bands]uint8
	floor       [bands]int32
	level       []uint8 // frames x bands
	sum, square [bands]uint32
}

const depth = envelopeDepth * codesPerDB

func (s *stretch) frames() int { return len(s.codes) / bands }

func (s *stretch) take(codes []uint8) {
	s.codes = codes
	s.top = vec.PeakBands(codes)
	for k, top := range s.top {
		s.floor[k] = int32(top) - depth
	}
	s.level = slices.Grow(s.level[:0], len(codes))[:len(codes)]
	vec.AboveFloors(s.level, codes, &s.floor)
	var sums vec.BandSums
	vec.SumBands(&sums, codes, s.level, &s.floor, vec.FallFree)
	s.sum, s.square = sums.Level, sums.Square
}

// over brings both envelopes to the time they share.
func (m *matching) over(a, b *Sketch, lateA, lateB float64) *shared {
	for i := range m.shared {
		if s := &m.shared[i]; s.a == a && s.b == b && s.lateA == lateA && s.lateB == lateB {
			return s
		}
	}
	s := &m.shared[m.next]
	m.next = (m.next + 1) % len(m.shared)
	s.a, s.b, s.lateA, s.lateB = a, b, lateA, lateB
	u, v := *a, *b
	u.StartSeconds += lateA
	v.StartSeconds += lateB
	var x, y []uint8
	x, y, s.hop = overlap(&u, &v)
	s.x.take(x)
	s.y.take(y)
	return s
}

// correlations gives, for the bands in use, Pearson's coefficient of the levels of x, with a tail that falls by fall codes a frame,
// and those of y; 0 where one of them does not move. A fall of 0 is no tail.
func correlations(x, y *stretch, use []int, fall float64, rs []float64) {
	step := int32(vec.FallFree)
	if fall > 0 && fall < 256 {
		step = int32(fall*vec.FallOne + 0.5)
	}
	var sums vec.BandSums
	vec.SumBands(&sums, x.codes, y.level, &x.floor, step)
	n := float64(x.frames())
	for i, k := range use {
		sx, xx, sy, yy := float64(sums.Level[k]), float64(sums.Square[k]), float64(y.sum[k]), float64(y.square[k])
		vx, vy := xx-sx*sx/n, yy-sy*sy/n
		rs[i] = 0
		if vx > 1e-9*xx && vy > 1e-9*yy {
			rs[i] = (float64(sums.Product[k]) - sx*sy/n) / math.Sqrt(vx*vy)
		}
	}
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
func likeness(x, y *stretch) (steadiness, profile float64) {
	if x.frames() < 8 {
		return 0, math.Inf(1)
	}
	both := together(x.codes, y.codes)
	if len(both) < 8 {
		return 0, math.Inf(1)
	}
	use := heard(&x.top, &y.top)
	var px, py [bands]float64
	for _, f := range both {
		for k := range bands {
			px[k] += envelopePower(x.codes[f*bands+k])
			py[k] += envelopePower(y.codes[f*bands+k])
		}
	}
	rs, diffs := make([]float64, len(use)), make([]float64, 0, len(use))
	correlations(x, y, use, 0, rs)
	for _, k := range use {
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
	both := make([]int, 0, len(px))
	for f := range px {
		if px[f] > gateX && py[f] > gateY {
			both = append(both, f)
		}
	}
	return both
}

// framePowers is the sum over the bands of each frame. Frames are taken four at a time, as an addition has to wait for the one before.
func framePowers(env []uint8) []float64 {
	p := make([]float64, len(env)/bands)
	f := 0
	for ; f+4 <= len(p); f += 4 {
		a, b := (*[bands]uint8)(env[f*bands:]), (*[bands]uint8)(env[(f+1)*bands:])
		c, d := (*[bands]uint8)(env[(f+2)*bands:]), (*[bands]uint8)(env[(f+3)*bands:])
		var s, t, u, v float64
		for k := range bands {
			s += envelopePower(a[k])
			t += envelopePower(b[k])
			u += envelopePower(c[k])
			v += envelopePower(d[k])
		}
		p[f], p[f+1], p[f+2], p[f+3] = s, t, u, v
	}
	for ; f < len(p); f++ {
		for _, c := range env[f*bands : (f+1)*bands] {
			p[f] += envelopePower(c)
		}
	}
	return p
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
