package dynamics

import "math"

// Rules for notes that begin without a rise of the envelope or of many bands at once: a bass that goes from tone to tone
// under one bow, a soft note whose partials are few. Chosen by experiment on synthetic notes (see notes_test.go).
const (
	noveltyLowestHz = 30.0
	noveltyPeaksHz  = 1500.0 // partials are told apart below,
	noveltyBandsHz  = 6000.0 // bands of a 24th of an octave above
	bandsPerOctave  = 24.0
	noveltyPeaks    = 24 // partials of a frame, at most
	noveltyBands    = 50
	noveltyRing     = 16 // frames
	noveltyFrom     = 2  // a frame is compared with the loudest of those from here, which do not overlap it,
	noveltyTo       = 5  // to here: a turn of vibrato or tremolo
	noveltyRef      = 12 // and its amplitude with the loudest of so many
	noveltyGain     = 1.41
	noveltyStays    = 0.6   // of the amplitude
	noveltyCents    = 1.044 // 75 cents: more than vibrato leaves in a frame, less than a semitone
	noveltyHz       = 1.5   // what neighbours a few bins away can move a partial by
	noveltyBelow    = 0.01  // partials 40 dB below the frame's strongest do not count
)

// partial is a line in the spectrum.
type partial struct{ hz, amplitude float32 }

// noveltyFrame is what is kept of a frame.
type noveltyFrame struct {
	partials [noveltyPeaks]partial
	n        int
	bands    [noveltyBands]float32 // amplitudes
	total    float32
	value    float32 // its novelty
}

// novelty is the part of a frame's amplitude, 0..1, that was not there in the frames before: partials that none of them
// had within 75 cents, or had 3 dB softer. A partial's frequency is interpolated between the bins (exact for one tone
// under a Hann window), so that it is known to a fraction of a bin.
type novelty struct {
	from, to int // bins of the partials
	edges    [noveltyBands + 1]int
	bands    int
	binHz    float32
	ring     [noveltyRing]noveltyFrame
	frames   int64
	onset    int64
}

func (f *novelty) plan(bins int, binHz float64) {
	f.binHz = float32(binHz)
	f.from = max(2, int(noveltyLowestHz/binHz))
	f.to = min(bins-2, int(noveltyPeaksHz/binHz))
	f.bands = 0
	last := f.to
	f.edges[0] = last
	for b := 0; b < noveltyBands && last < bins; b++ {
		hz := noveltyPeaksHz * math.Exp2(float64(b+1)/bandsPerOctave)
		if hz > noveltyBandsHz {
			break
		}
		last = min(max(int(math.Round(hz/binHz)), last+1), bins)
		f.bands++
		f.edges[f.bands] = last
	}
	f.onset = -noveltyRing
}

func (f *novelty) at(t int64) *noveltyFrame { return &f.ring[t%noveltyRing] }

// frame takes the next spectrum. From the second one on it gives the novelty of the frame before and tells whether it is a
// peak: larger than the frame before it and not smaller than the one after, with the sound going on after it.
func (f *novelty) frame(power []float32) (value float32, peak bool) {
	now := f.at(f.frames)
	f.describe(now, power)
	now.value = f.compare(now)
	f.frames++
	return f.pick(f.frames-2, now.value, now.total)
}

// last tells the same of the last frame.
func (f *novelty) last() (value float32, peak bool) {
	if f.frames == 0 {
		return 0, false
	}
	return f.pick(f.frames-1, 0, f.at(f.frames-1).total)
}

func (f *novelty) pick(t int64, after, total float32) (value float32, peak bool) {
	if t < 1 {
		return 0, false
	}
	value = f.at(t).value
	before := f.at(t - 1)
	if value < noveltyAlone || value <= before.value || value < after || total < before.total*noveltyStays || t-f.onset < 2 {
		return value, false
	}
	f.onset = t
	return value, true
}

// describe finds partials and bands.
func (f *novelty) describe(now *noveltyFrame, power []float32) {
	now.n, now.total = 0, 0
	top := float32(0)
	for k := f.from; k < f.to; k++ {
		top = max(top, power[k])
	}
	least := max(top*noveltyBelow*noveltyBelow, fluxLeast)
	for k := f.from; k < f.to && now.n < noveltyPeaks; k++ {
		p := power[k]
		if p < least || p < power[k-1] || p <= power[k+1] {
			continue
		}
		now.partials[now.n] = f.partial(power, k)
		now.total += now.partials[now.n].amplitude
		now.n++
	}
	for b := range f.bands {
		a := float32(math.Sqrt(float64(sum32(power[f.edges[b]:f.edges[b+1]]))))
		now.bands[b] = a
		now.total += a
	}
}

// partial interpolates the peak at bin k: with the larger neighbour a times as strong, the tone lies (2a-1)/(a+1) of a
// bin towards it.
func (f *novelty) partial(power []float32, k int) partial {
	side, neighbour := float32(1), power[k+1]
	if power[k-1] > neighbour {
		side, neighbour = -1, power[k-1]
	}
	a := float32(math.Sqrt(float64(neighbour / power[k])))
	d := max((2*a-1)/(a+1), 0)
	return partial{(float32(k) + side*d) * f.binHz, float32(math.Sqrt(float64(power[k-1] + power[k] + power[k+1])))}
}

func (f *novelty) compare(now *noveltyFrame) float32 {
	fresh := float32(0)
	for _, p := range now.partials[:now.n] {
		fresh += max(0, p.amplitude-noveltyGain*f.before(p.hz))
	}
	for b := range f.bands {
		was := float32(0)
		for t := max(0, f.frames-noveltyTo); t <= f.frames-noveltyFrom; t++ {
			bands := &f.at(t).bands
			was = max(was, bands[b], bands[max(b-1, 0)], bands[min(b+1, f.bands-1)])
		}
		fresh += max(0, now.bands[b]-noveltyGain*was)
	}
	most := now.total
	for t := max(0, f.frames-noveltyRef); t < f.frames; t++ {
		most = max(most, f.at(t).total)
	}
	if most == 0 {
		return 0
	}
	return fresh / most
}

// before is the largest amplitude that a partial near hz had.
func (f *novelty) before(hz float32) float32 {
	low, high := min(hz/noveltyCents, hz-noveltyHz), max(hz*noveltyCents, hz+noveltyHz)
	a := float32(0)
	for t := max(0, f.frames-noveltyTo); t <= f.frames-noveltyFrom; t++ {
		frame := f.at(t)
		for _, p := range frame.partials[:frame.n] {
			if low <= p.hz && p.hz <= high {
				a = max(a, p.amplitude)
			}
		}
	}
	return a
}
