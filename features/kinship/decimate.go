package kinship

import (
	"math"
	"slices"

	"foldout/features/vec"
)

const (
	taps   = 28  // of the second stage
	phases = 128 // of the second stage
	unit   = 2048
)

// decimator turns samples at any rate into waveRateHz on the session's own time grid: output m lies at m/4000 s after
// the session's zero. First stage: triangle (two running means) down to about 8 kHz; second stage: windowed sinc
// read at the nearest of 128 phases. Flat within 1.5 dB to 1.5 kHz; what folds
// back to there is 24 dB down or more.
//
// It works on one or more signals in step, and leaves out what nobody wants: outputs of pieces that are not kept are 0.
type decimator struct {
	fs      float64
	factor  int
	rising  []float32 // triangle weights
	falling []float32
	lanes   []lane // one a signal
	nRest   int    // samples short of a block, in each lane
	nMid    int    // second stage input, in each lane; element 0 is intermediate sample base
	base    int64
	filter  []float32 // phases+1 rows of vec.MaxTaps
	taps    []vec.Tap // of the outputs at hand
	zeros   []float32
	shift   float64 // intermediate sample n is centred on input sample n*factor - shift
	scale   float64 // 1/factor
	start   float64 // seconds
	next    int64   // next output index m
}

// lane is the state of one signal.
type lane struct {
	last float32   // rising sum of the previous block of factor samples
	rest []float32 // samples short of a block, then a unit of input
	mid  []float32 // second stage input
	out  []float32
}

func newDecimator(sampleRateHz, signals int) *decimator {
	d := &decimator{fs: float64(max(sampleRateHz, 1))}
	d.factor = max(1, int(math.Round(d.fs/8000)))
	n := float64(d.factor)
	d.scale = 1 / n
	if d.factor > 1 {
		d.shift = 1
	}
	d.rising, d.falling = make([]float32, d.factor), make([]float32, d.factor)
	for i := range d.rising {
		d.rising[i] = float32(float64(i+1) / (n * n))
		d.falling[i] = float32((n - 1 - float64(i)) / (n * n))
	}
	d.nMid, d.base = taps, -taps // zeros before the first sample
	d.lanes = make([]lane, signals)
	d.zeros = make([]float32, (taps/2+2)*d.factor)
	for i := range d.lanes {
		d.lanes[i].rest = make([]float32, d.factor+max(unit, len(d.zeros)))
		d.lanes[i].mid = make([]float32, unit+2*taps+vec.MaxTaps)
	}
	rate := d.fs / n
	cut := min(2000, 0.45*rate) / rate // cycles per intermediate sample
	d.filter = make([]float32, (phases+1)*vec.MaxTaps)
	for p := 0; p <= phases; p++ {
		row := d.filter[p*vec.MaxTaps:][:taps]
		var sum float64
		for i := range row {
			t := float64(i-taps/2+1) - float64(p)/phases
			w := 0.5 + 0.5*math.Cos(2*math.Pi*t/(taps+1))
			v := 2 * cut * w
			if a := 2 * math.Pi * cut * t; a != 0 {
				v *= math.Sin(a) / a
			}
			row[i] = float32(v)
			sum += v
		}
		for i := range row {
			row[i] /= float32(sum)
		}
	}
	return d
}

// startAt sets the time of the first sample; to be called before write.
func (d *decimator) startAt(seconds float64) {
	d.start = seconds
	d.next = int64(math.Ceil(seconds * waveRateHz))
}

// write feeds the signals, of one length and a unit at most, and puts the outputs that follow from them into the lanes.
// Pieces whose priority is keep or more are not wanted.
func (d *decimator) write(keep float64, signals ...[]float32) {
	total := d.nRest + len(signals[0])
	blocks := total / d.factor
	mid, skip := d.nMid, d.skip(keep, blocks)
	for i := range d.lanes {
		l := &d.lanes[i]
		l.out = l.out[:0]
		copy(l.rest[d.nRest:], signals[i])
		d.nMid = d.reduce(l, l.rest[:blocks*d.factor], mid, skip)
		copy(l.rest, l.rest[blocks*d.factor:total])
	}
	d.nRest = total - blocks*d.factor
	d.interpolate(keep)
}

// finish feeds zeros until the last sample has come through.
func (d *decimator) finish(keep float64) {
	signals := make([][]float32, len(d.lanes))
	for i := range signals {
		signals[i] = d.zeros
	}
	d.write(keep, signals...)
}

// reduce runs the first stage over whole blocks and puts the result behind the n values in the lane's middle; it
// returns how many there are then. The first skip blocks are left out.
func (d *decimator) reduce(l *lane, x []float32, n, skip int) int {
	last, mid := l.last, l.mid
	if skip > 0 {
		clear(mid[n:][:skip])
		n += skip
		x = x[skip*d.factor:]
		last = 0
	}
	switch d.factor {
	case 1:
		n += copy(mid[n:], x)
	case 6: // 44.1 and 48 kHz
		for ; len(x) >= 6; x = x[6:] {
			a, b, c, e, f, g := x[0], x[1], x[2], x[3], x[4], x[5]
			mid[n] = last + ((5*a+4*b)+(3*c+2*e)+f)*(1./36)
			last = ((a + 2*b) + (3*c + 4*e) + (5*f + 6*g)) * (1. / 36)
			n++
		}
	default:
		for f := d.factor; len(x) >= f; x = x[f:] {
			var up, down float32
			rising, falling := d.rising[:f], d.falling[:f]
			for i, v := range x[:f] {
				up += rising[i] * v
				down += falling[i] * v
			}
			mid[n] = last + down
			last = up
			n++
		}
	}
	clear(mid[n:][:vec.MaxTaps-taps]) // read, with weight 0
	l.last = last
	return n
}

// at says where in the middle the window of output m begins, and which phase is next to it.
func (d *decimator) at(m int64) (lo, phase int) {
	pos := ((float64(m)/waveRateHz-d.start)*d.fs+d.shift)*d.scale - float64(d.base)
	whole := int(pos)
	// below 0 by rounding only, before the first sample
	return max(whole-taps/2+1, 0), int((pos-float64(whole))*phases + 0.5)
}

// interpolate runs the second stage over what there is in the middle, and drops what was used.
func (d *decimator) interpolate(keep float64) {
	for {
		end, wanted := d.stretch(keep)
		left := 0
		for ; d.next < end; d.next++ {
			lo, phase := d.at(d.next)
			if lo+taps > d.nMid {
				d.compute()
				d.leave(left)
				d.drop(min(lo, d.nMid))
				return
			}
			if wanted {
				d.taps = append(d.taps, vec.Tap{At: int32(lo), Row: int32(phase)})
			} else {
				left++
			}
		}
		d.compute()
		d.leave(left)
	}
}

// skip is how many of the next blocks lie wholly before what the next wanted output is made of. One more is computed
// than is used, as half of each value comes from the block before.
func (d *decimator) skip(keep float64, blocks int) int {
	end, wanted := d.stretch(keep)
	if wanted {
		return 0
	}
	lo, _ := d.at(end)
	return min(max(lo-d.nMid-1, 0), blocks)
}

// stretch tells up to which output, from the next one on, all are wanted or all are not. The one before a piece is
// part of it, for its emphasis.
func (d *decimator) stretch(keep float64) (end int64, wanted bool) {
	piece := d.next / chunkSamples
	end = (piece + 1) * chunkSamples
	switch {
	case priority(piece) < keep:
		return end, true
	case priority(piece+1) >= keep:
		return end, false
	case d.next < end-1:
		return end - 1, false
	}
	return end, true
}

// leave puts zeros in the place of n outputs.
func (d *decimator) leave(n int) {
	for i := range d.lanes {
		l := &d.lanes[i]
		done := len(l.out)
		l.out = slices.Grow(l.out, n)[:done+n]
		clear(l.out[done:])
	}
}

// compute makes the outputs whose taps are known. They are made in eights, the last ones together with some that are
// thrown away, so that each is the same whatever its company.
func (d *decimator) compute() {
	n := len(d.taps)
	if n == 0 {
		return
	}
	for len(d.taps)%8 != 0 {
		d.taps = append(d.taps, d.taps[n-1])
	}
	for i := range d.lanes {
		l := &d.lanes[i]
		done := len(l.out)
		l.out = slices.Grow(l.out, len(d.taps))[:done+len(d.taps)]
		vec.Dots(l.out[done:], l.mid, d.filter, d.taps, taps)
		l.out = l.out[:done+n]
	}
	d.taps = d.taps[:0]
}

// drop removes the first used values of the middle.
func (d *decimator) drop(used int) {
	if used == 0 {
		return
	}
	for i := range d.lanes {
		copy(d.lanes[i].mid, d.lanes[i].mid[used:d.nMid])
	}
	d.nMid -= used
	d.base += int64(used)
}
