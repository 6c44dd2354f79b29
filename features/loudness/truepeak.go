package loudness

import (
	"math"

	"foldout/features/vec"
)

const (
	blockSize   = vec.PeakBlock    // samples judged at once by the bounds
	batch       = 64               // blocks whose peaks are found at once
	historySize = halfBandTaps - 1 // samples before a block that its outputs reach back to, at most

	// boundMargin covers the rounding of the bounds and of the interpolation itself, as a fraction of the block's
	// peak: at most 40 roundings of 2^-24.
	boundMargin = 1e-5
)

// TruePeak measures the sample peak and the true peak of each channel after BS.1770-5 Annex 2: the highest magnitude of
// the signal oversampled to at least 192 kHz, which is 4 times below 96 kHz, 2 times below 192 kHz, and from there the
// samples themselves. The Annex's own 48-tap filter is used for 4 times. The true peak is never below the sample peak,
// and the signal is taken to be preceded and followed by silence.
//
// The result is exactly that of interpolating every sample. Only, most samples are not: per block of 64, two upper bounds
// tell whether any interpolated value could exceed the highest so far.
type TruePeak struct {
	taps     int        // of one phase; 0 when nothing is interpolated
	l1       float64    // bound of all phases: no output exceeds l1 times the largest sample
	phases   []mirrored // each stands for a phase and its reverse
	channels []channelPeak
}

// channelPeak is the state of one channel.
type channelPeak struct {
	sample  float32 // highest magnitude of a sample
	highest float64 // highest sample or interpolated value
	history [historySize]float32
}

// NewTruePeak returns a peak meter for a track of the given rate and number of channels.
func NewTruePeak(sampleRateHz, channels int) *TruePeak {
	p := &TruePeak{channels: make([]channelPeak, max(channels, 0))}
	switch {
	case sampleRateHz < 96000:
		p.taps = 12
		for _, phase := range annex2Phases {
			p.phases = append(p.phases, newMirrored(phase[:]))
		}
	case sampleRateHz < 192000:
		p.taps = halfBandTaps
		p.phases = []mirrored{newMirrored(halfBandPhase())}
	}
	for i := range p.phases {
		p.l1 = max(p.l1, p.phases[i].bounds.l1)
	}
	return p
}

// Write measures a block of planes, one per channel, of any length. Samples must be finite. Planes may be missing or
// differ in length as for Meter.Write.
func (p *TruePeak) Write(block [][]float32) {
	frames := shortest(block)
	for c := range min(len(block), len(p.channels)) {
		p.write(&p.channels[c], block[c][:frames])
	}
}

// write measures a stretch of one channel.
func (p *TruePeak) write(c *channelPeak, x []float32) {
	if p.taps == 0 {
		c.raise(vec.Peak(x))
		return
	}
	before := p.taps - 1
	// The first outputs reach back into the history: stitch it to the first samples.
	var seam [2 * historySize]float32
	n := min(len(x), before)
	copy(seam[:], c.history[:before])
	copy(seam[before:], x[:n])
	p.scan(c, seam[:before+n])
	p.scan(c, x)
	if len(x) >= before {
		copy(c.history[:], x[len(x)-before:])
	} else {
		copy(c.history[:], seam[n:n+before])
	}
}

// scan measures the peak of x and the interpolated values of all windows that lie within it. A window reaches back into
// the block before, so the bound is taken from the peaks of both.
func (p *TruePeak) scan(c *channelPeak, x []float32) {
	var peaks [batch]float32
	last := float32(0) // peak of the block before
	for start := 0; start < len(x); start += batch * blockSize {
		n := min((len(x)-start)/blockSize, batch)
		vec.Peaks(peaks[:n], x[start:])
		for k, peak := range peaks[:n] {
			p.block(c, x, start+k*blockSize, blockSize, max(peak, last), peak)
			last = peak
		}
		if n < batch {
			from := start + n*blockSize
			peak := vec.Peak(x[from:])
			p.block(c, x, from, len(x)-from, max(peak, last), peak)
		}
	}
}

// block measures n samples from start on, at most blockSize. local is the highest peak of what the windows that end in
// them see, peak that of the block itself.
func (p *TruePeak) block(c *channelPeak, x []float32, start, n int, local, peak float32) {
	c.raise(peak)
	if p.l1*float64(local)*(1+boundMargin) > c.highest {
		p.judge(c, x[max(start-p.taps+1, 0):start+n], float64(local))
	}
}

// judge interpolates the windows within x, at most a block and its history, unless the second bound rules them out.
// local is the peak of x.
func (p *TruePeak) judge(c *channelPeak, x []float32, local float64) {
	windows := len(x) - p.taps + 1
	if windows <= 0 {
		return
	}
	margin := boundMargin * local
	bend := math.Inf(1) // the curvature below which no phase can exceed the highest
	for i := range p.phases {
		b := &p.phases[i].bounds
		bend = min(bend, (c.highest-margin-b.line*local)/b.curve)
	}
	if bend > 0 && smooth(x, float32(bend)) {
		return
	}
	var wide [blockSize + historySize]float64
	for i, sample := range x {
		wide[i] = float64(sample)
	}
	for i := range p.phases {
		h := &p.phases[i]
		if h.bounds.l1*local+margin <= c.highest {
			continue
		}
		spare := h.rest*local + margin
		if p.taps == halfBandTaps {
			c.highest = h.largest2(&wide, windows, c.highest, spare)
		} else {
			c.highest = h.largest4(&wide, windows, c.highest, spare)
		}
	}
}

// raise takes note of a sample peak.
func (c *channelPeak) raise(peak float32) {
	if peak > c.sample {
		c.sample = peak
		c.highest = max(c.highest, float64(peak))
	}
}

// smooth tells whether no second difference of x exceeds limit in magnitude. It looks at a few at a time, so noise is
// found out at once.
func smooth(x []float32, limit float32) bool {
	const magnitude = 1<<31 - 1
	most := math.Float32bits(limit)
	i := 0
	for ; i+6 <= len(x); i += 4 {
		w := (*[6]float32)(x[i:])
		a, b, c, d, e := w[1]-w[0], w[2]-w[1], w[3]-w[2], w[4]-w[3], w[5]-w[4]
		if max(math.Float32bits(b-a)&magnitude, math.Float32bits(c-b)&magnitude,
			math.Float32bits(d-c)&magnitude, math.Float32bits(e-d)&magnitude) > most {
			return false
		}
	}
	for ; i+3 <= len(x); i++ {
		if math.Float32bits((x[i+2]-x[i+1])-(x[i+1]-x[i]))&magnitude > most {
			return false
		}
	}
	return true
}

// ChannelSamplePeak returns the largest sample of a channel in magnitude, full scale 1; 0 for silence.
func (p *TruePeak) ChannelSamplePeak(channel int) float64 {
	return float64(p.channels[channel].sample)
}

// ChannelTruePeak returns the true peak of a channel, full scale 1; 0 for silence.
func (p *TruePeak) ChannelTruePeak(channel int) float64 {
	if p.taps == 0 {
		return p.channels[channel].highest
	}
	after := p.channels[channel] // a copy: writing may go on
	var silence [historySize]float32
	p.write(&after, silence[:p.taps-1])
	return after.highest
}

// SamplePeak returns the largest sample peak of all channels, full scale 1; 0 for silence or without channels.
func (p *TruePeak) SamplePeak() float64 {
	peak := 0.0
	for c := range p.channels {
		peak = max(peak, p.ChannelSamplePeak(c))
	}
	return peak
}

// TruePeak returns the largest true peak of all channels, full scale 1; 0 for silence or without channels.
func (p *TruePeak) TruePeak() float64 {
	peak := 0.0
	for c := range p.channels {
		peak = max(peak, p.ChannelTruePeak(c))
	}
	return peak
}
