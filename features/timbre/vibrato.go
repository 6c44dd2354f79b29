package timbre

import "math"

const (
	contourLength = 20 // frames looked at together: 0.85 s at 48 kHz
	vibratoLowHz  = 3.5
	vibratoHighHz = 9
	vibratoRates  = 12
)

// contour watches the course of the fundamental: steps between frames, glides, and periodic movement.
type contour struct {
	cents   [contourLength]float64
	weight  [contourLength]float64
	n       int // length of the unbroken course, at most contourLength
	since   int // frames since the last look
	frameHz float64
	gain    [vibratoRates]float64 // what the analysis window leaves of a movement at each rate
	cos     [vibratoRates][contourLength]float64
	sin     [vibratoRates][contourLength]float64

	steady, gliding, jumping float64
	runs                     float64
	depth, rate, slope       moments
	regular                  moments
	deep, seen               float64
}

func newContour(frameHz, windowS float64) *contour {
	c := &contour{frameHz: frameHz}
	for r := range vibratoRates {
		hz := vibratoRate(r)
		for t := range contourLength {
			s, co := math.Sincos(2 * math.Pi * hz * float64(t) / frameHz)
			c.cos[r][t], c.sin[r][t] = co, s
		}
		// the frequency read from a frame is close to the mean over the squared Hann window
		var num, den float64
		for i := range 256 {
			x := (float64(i)+0.5)/256 - 0.5
			w := math.Pow(0.5+0.5*math.Cos(2*math.Pi*x), 2)
			num += w * math.Cos(2*math.Pi*hz*x*windowS)
			den += w
		}
		c.gain[r] = math.Max(0.3, num/den)
	}
	return c
}

func vibratoRate(r int) float64 {
	return vibratoLowHz + (vibratoHighHz-vibratoLowHz)*float64(r)/(vibratoRates-1)
}

// rest ends the current course.
func (c *contour) rest() { c.n, c.since = 0, 0 }

// add appends the pitch of the next frame; w is its weight.
func (c *contour) add(w, hz float64) {
	cents := 1200 * math.Log2(hz)
	if c.n > 0 {
		step := math.Abs(cents - c.cents[c.n-1])
		switch {
		case step < 12:
			c.steady += w
		case step < 120:
			c.gliding += w
		default:
			c.jumping += w
			c.rest()
		}
	}
	if c.n == 0 {
		c.runs += w
	}
	if c.n == contourLength {
		copy(c.cents[:], c.cents[1:])
		copy(c.weight[:], c.weight[1:])
		c.n--
	}
	c.cents[c.n], c.weight[c.n] = cents, w
	c.n++
	c.since++
	if c.n == contourLength && c.since >= contourLength/4 {
		c.since = 0
		c.look()
	}
}

// look fits a line and the best of a set of sinusoids to the last contourLength frames.
func (c *contour) look() {
	const n = contourLength
	var mean, slope, norm, w float64
	for t, v := range c.cents {
		mean += v / n
		w += c.weight[t] / n
	}
	for t, v := range c.cents {
		x := float64(t) - (n-1)/2.0
		slope += x * (v - mean)
		norm += x * x
	}
	slope /= norm
	var d [n]float64
	var variance float64
	for t, v := range c.cents {
		d[t] = v - mean - slope*(float64(t)-(n-1)/2.0)
		variance += d[t] * d[t]
	}
	c.slope.add(w, math.Abs(slope)*c.frameHz)
	best, power := 0, 0.0
	for r := range vibratoRates {
		var re, im float64
		for t, v := range d {
			re += v * c.cos[r][t]
			im += v * c.sin[r][t]
		}
		if p := re*re + im*im; p > power {
			best, power = r, p
		}
	}
	c.seen += w
	if variance <= 0 {
		c.depth.add(w, 0)
		return
	}
	explained := math.Min(1, 2*power/n/variance)
	depth := 2 * math.Sqrt(power) / n / c.gain[best]
	c.depth.add(w, depth*explained)
	c.regular.add(w, explained)
	if depth > 10 && explained > 0.6 {
		c.deep += w
		c.rate.add(w, vibratoRate(best))
	}
}

// meanRate is the mean rate of the vibrato found, drawn towards 6 Hz where little was found.
func (c *contour) meanRate() float64 {
	const usual, pull = 6, 0.02
	if c.seen <= 0 {
		return usual
	}
	return (c.rate.x + usual*pull*c.seen) / (c.rate.w + pull*c.seen)
}
