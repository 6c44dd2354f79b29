package spectrum

import (
	"math"

	"github.com/mjibson/go-dsp/window"

	"foldout/features/fft"
	"foldout/features/vec"
)

// The lowest bands are a few of a frame's bins wide, too few to tell them apart (IEC 61260-1 asks an octave filter to be
// down by 16.6 dB one octave away). So the low end is measured a second time on samples at about 750 Hz, where a frame
// of 512 has bins of 1.3 to 2 Hz.
const (
	halvedHz   = 5500 // rates are halved as long as they stay above
	lowFactor  = 8    // of the last stage
	lowTaps    = 96   // of the last stage
	kaiserBeta = 8.96 // 90 dB of stop band (Kaiser 1974)
	lowSize    = 512
	lowHop     = lowSize / 4
	lowBlock   = 4096 // samples sent through the stages at a time

	lowestHz   = 10 // what lies below is movement of the constant part, not sound
	highPassHz = 5  // takes that movement out, so that it does not leak upwards

	// Between these the frames of the stream take over from those of the low end, in a straight line: what a tone in
	// between loses in the one it gains in the other. At the lower one, a band is five of the stream's bins wide.
	takeoverFromHz = 120
	takeoverToHz   = 180
)

// lowEnd measures the power spectrum of 10 to 180 Hz. The samples go through stages that halve the rate (binomial
// filters of four taps) down to 5.5 to 11 kHz, one that divides it by eight (a windowed sinc), a high-pass, and Hann
// windows at three quarters overlap. Zeros are put before and after the track: every sample has the same weight in the
// sum, however short the track.
type lowEnd struct {
	rate, factor int // factor of all stages together
	channels     []lowChannel
	filter       []float32
	highPass     [5]float64 // b0 b1 b2 a1 a2
	fft          *fft.FFT
	window       []float32
	silence      []float32
	power        []float32
	sum          []float64
	samples      int64
	fill         int // samples in the channels' frames
	scratch      [2][]float32
	closed       bool
}

type lowChannel struct {
	started bool
	start   float32 // the first sample, taken as the value before the track
	last    float32
	halvers []halver
	middle  []float32 // input of the last stage not yet used up
	at      int       // where the next output's taps begin in it
	x1, x2  float64   // of the high-pass
	y1, y2  float64
	frame   []float32
}

// halver halves the rate by a filter of the taps 1 3 3 1, an eighth each.
type halver struct {
	x1, x2 float32 // the last two samples
	held   float32 // the first of a pair whose second has not come
	half   bool
}

// write returns the outputs that x gives, in out.
func (h *halver) write(x, out []float32) []float32 {
	out = out[:0]
	if h.half && len(x) > 0 {
		out = append(out, 0.125*(h.x2+x[0])+0.375*(h.x1+h.held))
		h.x2, h.x1, h.half = h.held, x[0], false
		x = x[1:]
	}
	n := len(x) / 2
	start := len(out)
	out = out[:start+n]
	if n > 0 {
		y := out[start:]
		y[0] = 0.125*(h.x2+x[1]) + 0.375*(h.x1+x[0])
		vec.Halve(y[1:], x)
		h.x2, h.x1 = x[2*n-2], x[2*n-1]
	}
	if len(x)%2 == 1 {
		h.held, h.half = x[len(x)-1], true
	}
	return out
}

func newLowEnd(sampleRateHz, channels int) *lowEnd {
	halvings := 0
	for sampleRateHz>>(halvings+1) >= halvedHz {
		halvings++
	}
	l := &lowEnd{
		rate: sampleRateHz, factor: lowFactor << halvings,
		channels: make([]lowChannel, channels), fft: fft.New(lowSize),
		silence: make([]float32, lowSize), power: make([]float32, lowSize/2+1), sum: make([]float64, lowSize/2+1),
		fill: lowSize - lowHop, // zeros before the track
	}
	l.filter = lowPass(0.5 / lowFactor)
	l.highPass = butterworth(highPassHz / l.lowHz())
	l.window = scaledWindow(window.Hann(lowSize + 1)[:lowSize], channels)
	for i := range l.scratch {
		l.scratch[i] = make([]float32, 0, lowBlock/2+1)
	}
	for c := range l.channels {
		ch := &l.channels[c]
		ch.halvers = make([]halver, halvings)
		ch.middle = make([]float32, lowTaps-1, lowTaps+lowBlock+1)
		ch.frame = make([]float32, lowSize)
	}
	return l
}

// lowHz is the rate after all stages.
func (l *lowEnd) lowHz() float64 { return float64(l.rate) / float64(l.factor) }

// lowPass is a sinc of the cut-off given in cycles a sample under a Kaiser window, with a sum of 1.
func lowPass(cutoff float64) []float32 {
	h := make([]float64, lowTaps)
	sum := 0.0
	for i := range h {
		t := float64(i) - float64(lowTaps-1)/2
		u := 2 * t / float64(lowTaps-1)
		a := 2 * math.Pi * cutoff * t
		h[i] = math.Sin(a) / a * besselI0(kaiserBeta*math.Sqrt(max(0, 1-u*u)))
		sum += h[i]
	}
	out := make([]float32, lowTaps)
	for i, v := range h {
		out[i] = float32(v / sum)
	}
	return out
}

// besselI0 is the modified Bessel function of order 0, by its power series.
func besselI0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-12*sum; k++ {
		term *= (x / (2 * k)) * (x / (2 * k))
		sum += term
	}
	return sum
}

// butterworth is the high-pass of second order, corner in cycles a sample, by the bilinear transform.
func butterworth(corner float64) [5]float64 {
	k := math.Tan(math.Pi * corner)
	d := 1 + math.Sqrt2*k + k*k
	return [5]float64{1 / d, -2 / d, 1 / d, 2 * (k*k - 1) / d, (1 - math.Sqrt2*k + k*k) / d}
}

// write takes one plane a channel, all of one length.
func (l *lowEnd) write(planes [][]float32) {
	if len(planes) < len(l.channels) || len(planes[0]) == 0 {
		return
	}
	l.samples += int64(len(planes[0]))
	for at := 0; at < len(planes[0]); at += lowBlock {
		for c := range l.channels {
			l.channels[c].feed(planes[c][at:min(at+lowBlock, len(planes[c]))], &l.scratch)
		}
		l.output()
	}
}

// feed sends samples through the halving stages.
func (ch *lowChannel) feed(x []float32, scratch *[2][]float32) {
	if !ch.started { // as if the first sample had stood since ever, so that an offset makes no step
		ch.started, ch.start = true, x[0]
		for i := range ch.halvers {
			ch.halvers[i].x1, ch.halvers[i].x2 = x[0], x[0]
		}
		for i := range ch.middle {
			ch.middle[i] = x[0]
		}
	}
	ch.last = x[len(x)-1]
	for i := range ch.halvers {
		x = ch.halvers[i].write(x, scratch[i%2])
	}
	ch.middle = append(ch.middle, x...)
}

// output runs the last stage and the high-pass as far as there are samples. All channels have equally many.
func (l *lowEnd) output() {
	for l.channels[0].at+lowTaps <= len(l.channels[0].middle) {
		for c := range l.channels {
			ch := &l.channels[c]
			ch.frame[l.fill] = ch.low(l.filter, &l.highPass)
		}
		l.advance()
	}
	for c := range l.channels {
		ch := &l.channels[c]
		n := copy(ch.middle, ch.middle[ch.at:])
		ch.middle, ch.at = ch.middle[:n], 0
	}
}

// low makes the next sample at the low rate.
func (ch *lowChannel) low(filter []float32, b *[5]float64) float32 {
	sum := vec.Dot(filter, ch.middle[ch.at:])
	ch.at += lowFactor
	v := float64(sum) - float64(ch.start)
	y := b[0]*v + b[1]*ch.x1 + b[2]*ch.x2 - b[3]*ch.y1 - b[4]*ch.y2
	if math.Abs(y) < 1e-30 { // far below any sound; a tail left alone ends in slow denormal numbers
		y = 0
	}
	ch.x2, ch.x1, ch.y2, ch.y1 = ch.x1, v, ch.y1, y
	return float32(y)
}

// advance counts the sample put into the frames and measures them when they are full.
func (l *lowEnd) advance() {
	if l.fill++; l.fill < lowSize {
		return
	}
	for c := 0; c < len(l.channels); c += 2 {
		a, b := l.channels[c].frame, l.silence
		if c+1 < len(l.channels) {
			b = l.channels[c+1].frame
		}
		if silent(a) && silent(b) {
			continue
		}
		l.fft.Transform(a, b, l.window)
		l.fft.Power(l.power, false)
		vec.Accumulate(l.sum, l.power)
	}
	for c := range l.channels {
		copy(l.channels[c].frame, l.channels[c].frame[lowHop:])
	}
	l.fill -= lowHop
}

// close sends what is still in the stages, and the zeros after the track.
func (l *lowEnd) close() {
	if l.closed || l.samples == 0 {
		return
	}
	l.closed = true
	for range (2+lowTaps/2)*l.factor/lowFactor/64 + 1 {
		for c := range l.channels {
			ch := &l.channels[c]
			tail := make([]float32, 64)
			for i := range tail {
				tail[i] = ch.last
			}
			ch.feed(tail, &l.scratch)
		}
		l.output()
	}
	for range lowSize {
		for c := range l.channels {
			l.channels[c].frame[l.fill] = 0
		}
		l.advance()
	}
}

// cells are the bins from lowestHz to the end of the takeover, corrected for the response of the stages.
func (l *lowEnd) cells() []cell {
	width := l.lowHz() / lowSize
	scale := lowHop * float64(l.factor) / float64(max(l.samples, 1))
	var out []cell
	for k := int(math.Ceil(lowestHz / width)); float64(k-1)*width < takeoverToHz; k++ {
		hz := float64(k) * width
		c := cell{low: hz - width/2, high: hz + width/2, power: l.sum[k] * scale / l.response(hz)}
		c.power *= 1 - takeover(hz)
		out = append(out, c)
	}
	return out
}

// response is the power gain of all stages at a frequency.
func (l *lowEnd) response(hz float64) float64 {
	gain := 1.0
	for rate := float64(l.rate); rate > l.lowHz()*lowFactor*1.5; rate /= 2 {
		c := math.Cos(math.Pi * hz / rate)
		gain *= c * c * c * c * c * c // 1 3 3 1 is the third power of 1 1
	}
	re, im := 0.0, 0.0
	for i, v := range l.filter {
		s, c := math.Sincos(2 * math.Pi * hz / (l.lowHz() * lowFactor) * float64(i))
		re += float64(v) * c
		im += float64(v) * s
	}
	// Butterworth after the bilinear transform.
	q := math.Tan(math.Pi*highPassHz/l.lowHz()) / math.Tan(math.Pi*hz/l.lowHz())
	return gain * (re*re + im*im) / (1 + q*q*q*q)
}

// takeover is the weight 0..1 of the stream's frames at a frequency.
func takeover(hz float64) float64 {
	return min(1, max(0, (hz-takeoverFromHz)/(takeoverToHz-takeoverFromHz)))
}
