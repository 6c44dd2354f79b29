package kinship

import "math"

const (
	taps   = 28  // of the second stage
	phases = 128 // of the second stage
	unit   = 2048
)

// decimator turns samples at any rate into waveRateHz on the session's own time grid: output m lies at m/4000 s after
// the session's zero. First stage: triangle (two running means) down to about 8 kHz; second stage: windowed sinc
// read at the nearest of 128 phases. Flat within 1.5 dB to 1.5 kHz; what folds
// back to there is 24 dB down or more.
type decimator struct {
	fs      float64
	factor  int
	rising  []float32 // triangle weights
	falling []float32
	last    float32   // rising sum of the previous block of factor samples
	rest    []float32 // samples short of a block, then a unit of input
	nRest   int
	mid     []float32 // second stage input; mid[0] is intermediate sample base
	nMid    int
	base    int64
	filter  []float32 // phases x taps
	start   float64   // seconds
	next    int64     // next output index m
}

func newDecimator(sampleRateHz int) *decimator {
	d := &decimator{fs: float64(max(sampleRateHz, 1))}
	d.factor = max(1, int(math.Round(d.fs/8000)))
	n := float64(d.factor)
	d.rising, d.falling = make([]float32, d.factor), make([]float32, d.factor)
	for i := range d.rising {
		d.rising[i] = float32(float64(i+1) / (n * n))
		d.falling[i] = float32((n - 1 - float64(i)) / (n * n))
	}
	d.rest = make([]float32, d.factor+unit)
	d.mid = make([]float32, unit+2*taps+8)
	d.nMid, d.base = taps, -taps // zeros before the first sample
	rate := d.fs / n
	cut := min(2000, 0.45*rate) / rate // cycles per intermediate sample
	d.filter = make([]float32, (phases+1)*taps)
	for p := 0; p <= phases; p++ {
		row := d.filter[p*taps : (p+1)*taps]
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

// write feeds x and appends the outputs that follow from it to dst.
func (d *decimator) write(x, dst []float32) []float32 {
	for len(x) > 0 {
		n := copy(d.rest[d.nRest:], x)
		x = x[n:]
		total := d.nRest + n
		blocks := total / d.factor
		d.reduce(d.rest[:blocks*d.factor])
		d.nRest = copy(d.rest, d.rest[blocks*d.factor:total])
		dst = d.interpolate(dst)
	}
	return dst
}

// finish feeds zeros until the last sample has come through.
func (d *decimator) finish(dst []float32) []float32 {
	return d.write(make([]float32, (taps/2+2)*d.factor), dst)
}

// reduce runs the first stage over whole blocks and appends to mid.
func (d *decimator) reduce(x []float32) {
	last := d.last
	mid := d.mid
	n := d.nMid
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
	d.last, d.nMid = last, n
}

// interpolate runs the second stage over what mid allows, appends to dst, and drops what was used.
func (d *decimator) interpolate(dst []float32) []float32 {
	// Intermediate sample n is centred on input sample n*factor - 1, or n without a first stage.
	shift := 1.0
	if d.factor == 1 {
		shift = 0
	}
	scale := 1 / float64(d.factor)
	for {
		pos := ((float64(d.next)/waveRateHz-d.start)*d.fs+shift)*scale - float64(d.base)
		whole := int(pos)
		lo := max(whole-taps/2+1, 0) // below 0 by rounding only, before the first sample
		if lo+taps > d.nMid {
			if used := min(lo, d.nMid); used > 0 {
				d.nMid = copy(d.mid, d.mid[used:d.nMid])
				d.base += int64(used)
			}
			return dst
		}
		p := int((pos-float64(whole))*phases + 0.5)
		row := (*[taps]float32)(d.filter[p*taps:])
		x := (*[taps]float32)(d.mid[lo:])
		var a, b, c, e float32
		for i := 0; i < taps; i += 4 {
			a += row[i] * x[i]
			b += row[i+1] * x[i+1]
			c += row[i+2] * x[i+2]
			e += row[i+3] * x[i+3]
		}
		dst = append(dst, (a+b)+(c+e))
		d.next++
	}
}
