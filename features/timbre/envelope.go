package timbre

import (
	"math"

	"foldout/features/vec"
)

const (
	envelopeHz  = 200 // values of the envelope a second
	modulations = 7   // octave bands of the modulation spectrum centred on 1, 2, ... 64 Hz
)

// follower turns the squared signal of one register, in steps of 5 ms, into modulation bands and a crest.
type follower struct {
	low       [modulations + 1]float64
	band      [modulations]float64 // energy of each modulation band
	sum       float64              // of the amplitude
	square    float64              // of the amplitude squared
	cube      float64
	smoothing *[modulations + 1]float64
}

func (f *follower) add(power float64) {
	a := math.Sqrt(power)
	prev := 0.0
	for i := range f.low {
		f.low[i] += f.smoothing[i] * (a - f.low[i])
		if i > 0 {
			d := f.low[i] - prev
			f.band[i-1] += d * d
		}
		prev = f.low[i]
	}
	f.sum += a
	f.square += power
	f.cube += power * a
}

// onsets finds where the fine envelope rises and how it falls afterwards.
type onsets struct {
	slow, fast float64
	peak       float64 // running maximum of the power
	steps      int
	last       int // step of the last onset, -1 before the first
	top        float64
	topAt      int
	rising     bool
	falling    bool
	startAt    int

	count        float64
	heldOpen     float64
	attack       histogram // log2 of seconds
	decay        histogram // log2 of seconds for 10 dB
	interval     histogram // log2 of seconds
	brightAttack moments
	brightLater  moments
	later        int
	strength     moments
}

func newOnsets() onsets {
	return onsets{last: -1,
		attack:   newHistogram(-8, -1, 0.25),
		decay:    newHistogram(-8, 1, 0.25),
		interval: newHistogram(-5, 3, 0.2),
	}
}

func (o *onsets) add(power, high float64) {
	o.steps++
	o.peak = math.Max(o.peak, power)
	gate := o.peak * 3e-4
	if o.falling {
		switch {
		case power > o.top: // still rising
			o.top, o.topAt = power, o.steps
		case power < 0.1*o.top:
			o.decay.add(1, math.Log2(float64(o.steps-o.topAt)/envelopeHz))
			o.falling = false
		case o.steps-o.topAt > envelopeHz: // longer than a second
			o.decay.add(1, 1)
			o.heldOpen++
			o.falling = false
		}
	}
	if o.later > 0 {
		o.later--
		if o.later == 0 && power > gate {
			o.brightLater.add(1, math.Min(high/(power+1e-30), 4))
		}
	}
	rise := power > 4*o.slow && power > gate && power > o.fast
	if rise && (o.last < 0 || o.steps-o.last > envelopeHz/14) {
		if o.last >= 0 {
			o.interval.add(1, math.Log2(float64(o.steps-o.last)/envelopeHz))
		}
		if o.falling {
			// the next note came before 10 dB of fall: the time so far, extrapolated from what it did fall
			fall := 10 * math.Log10(o.top/math.Max(o.slow, 1e-30))
			if fall > 1 {
				o.decay.add(0.5, math.Log2(float64(o.steps-o.topAt+1)/envelopeHz*10/fall))
			}
		}
		o.count++
		o.last = o.steps
		o.strength.add(1, ratioDB(power, o.slow, 40))
		o.top, o.topAt, o.falling, o.rising = power, o.steps, true, true
		o.startAt = o.steps
		o.brightAttack.add(1, math.Min(high/(power+1e-30), 4))
		o.later = envelopeHz / 10
	}
	if o.rising && o.steps-o.startAt > envelopeHz/12 {
		o.rising = false
		o.attack.add(1, math.Log2(float64(o.topAt-o.startAt+1)/envelopeHz))
	}
	o.slow += 0.12 * (power - o.slow) // about 40 ms
	o.fast = power
}

// envelope is the time-domain half of the meter: power, high-pass and low-pass power in steps of 5 ms.
type envelope struct {
	step      int // samples in a step
	n         int
	channels  int
	prev      []float32
	acc       []float32 // running sum of eight samples
	sums      []float32 // of groups of eight
	low       []float64
	highScale float64 // makes the differentiator's reading independent of the rate
	lowK      float64
	accN      int
	all       float64
	high      float64
	lowPower  float64
	left      float64
	right     float64
	cross     float64
	smoothing [modulations + 1]float64

	broad, treble, bass follower
	onsets              onsets
	ll, rr, lr          float64
	coLowHigh           float64 // sum of the products of the low and high amplitudes
}

func newEnvelope(rate, channels int) *envelope {
	e := &envelope{step: max(1, (rate+envelopeHz/2)/envelopeHz), channels: channels}
	e.prev, e.acc, e.low = make([]float32, channels), make([]float32, channels), make([]float64, channels)
	e.sums = make([]float32, e.step/vec.GroupSize)
	e.highScale = math.Pow(float64(rate)/48000, 2)
	e.lowK = 1 - math.Exp(-2*math.Pi*150*8/float64(max(rate, 1)))
	for i := range e.smoothing {
		hz := math.Exp2(float64(i)) / math.Sqrt2 // 0.7, 1.4, ... 90 Hz
		e.smoothing[i] = 1 - math.Exp(-2*math.Pi*hz/envelopeHz)
	}
	e.broad.smoothing, e.treble.smoothing, e.bass.smoothing = &e.smoothing, &e.smoothing, &e.smoothing
	e.onsets = newOnsets()
	return e
}

// write takes planes of equal length.
func (e *envelope) write(block [][]float32) {
	channels := min(e.channels, len(block))
	if channels == 0 {
		return
	}
	frames := len(block[0])
	for _, plane := range block[:channels] {
		frames = min(frames, len(plane))
	}
	for at := 0; at < frames; {
		take := min(e.step-e.n, frames-at)
		for c := range channels {
			e.channel(c, block[c][at:at+take])
		}
		e.accN = (e.accN + take) & 7
		if channels > 1 {
			e.cross += float64(vec.Dot(block[0][at:at+take], block[1][at:at+take]))
		}
		at += take
		if e.n += take; e.n == e.step {
			e.tick()
		}
	}
}

// channel takes samples of one channel that lie within a step. The low-pass runs on the means of groups of eight.
func (e *envelope) channel(c int, x []float32) {
	if e.accN > 0 { // a group begun
		n := min(8-e.accN, len(x))
		e.few(c, x[:n], e.accN)
		x = x[n:]
	}
	whole := len(x) &^ 7
	e.groups(c, x[:whole])
	e.few(c, x[whole:], 0)
}

// few takes less than eight samples, of which k others of the same group went before.
func (e *envelope) few(c int, x []float32, k int) {
	var all, high float32
	for _, v := range x {
		all += v * v
		d := v - e.prev[c]
		e.prev[c] = v
		high += d * d
		e.acc[c] += v
		if k++; k == 8 {
			e.low[c] += e.lowK * (float64(e.acc[c])*0.125 - e.low[c])
			e.lowPower += e.low[c] * e.low[c] * 8
			e.acc[c] = 0
		}
	}
	e.add(c, all, high)
}

// groups takes whole groups of eight samples.
func (e *envelope) groups(channel int, x []float32) {
	if len(x) == 0 {
		return
	}
	sums := e.sums[:len(x)/vec.GroupSize]
	all, high := vec.Groups(sums, x, e.prev[channel])
	low, decay, gain := e.low[channel], 1-e.lowK, e.lowK*0.125
	var lowPower float64
	for _, sum := range sums {
		low = low*decay + float64(sum)*gain // two operations that wait for the sample before, not three
		lowPower += low * low
	}
	lowPower *= 8
	e.prev[channel], e.low[channel] = x[len(x)-1], low
	e.lowPower += lowPower
	e.add(channel, all, high)
}

// add notes the power of the samples of a channel and of their differences.
func (e *envelope) add(c int, all, high float32) {
	e.all += float64(all)
	e.high += float64(high)
	switch c {
	case 0:
		e.left += float64(all)
	case 1:
		e.right += float64(all)
	}
}

func (e *envelope) tick() {
	norm := 1 / float64(e.step*e.channels)
	all, high, low := e.all*norm, e.high*norm*e.highScale, e.lowPower*norm
	ll, rr, lr := e.left, e.right, e.cross
	e.all, e.high, e.lowPower, e.left, e.right, e.cross, e.n = 0, 0, 0, 0, 0, 0, 0
	if !(all+high+low < math.MaxFloat32) { // not finite, or beyond anything a file can hold
		for c := range e.prev {
			e.prev[c], e.acc[c], e.low[c] = 0, 0, 0
		}
		return
	}
	if all < silentPower {
		all, high, low = 0, 0, 0
	}
	e.ll, e.rr, e.lr = e.ll+ll, e.rr+rr, e.lr+lr
	e.broad.add(all)
	e.treble.add(high)
	e.bass.add(low)
	e.onsets.add(all, high)
	e.coLowHigh += math.Sqrt(low * high)
}
