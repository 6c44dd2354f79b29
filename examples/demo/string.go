package demo

import (
	"math"
	"math/rand/v2"
)

// pluck describes a string and how it is set in motion.
type pluck struct {
	decayS   float64 // to -60 dB at the fundamental
	damping  float64 // 0..1, pole of the loss filter: how much faster high partials die
	position float64 // of finger or pick, as a fraction of the string
	edgeHz   float64 // cut-off of the attack: a soft finger 500 Hz, a pick 5 kHz
	scrape   float64 // share of noise in the attack
	pickup   float64 // position of the pickup as a fraction of the string, 0 for the force at the bridge
	releaseS float64 // to -60 dB once the note is stopped
}

// ringString adds one note of a digital waveguide (Karplus and Strong 1983; Jaffe and Smith 1983) to out: a delay line
// of one period with losses, read between its samples by third-order Lagrange interpolation so that pitch can glide.
// bend gives the deviation in semitones at a time since the attack; nil for none.
func ringString(out []float64, at, length int, hz, strength float64, p pluck, bend func(t float64) float64, r *rand.Rand) {
	const size = 2048
	var line [size]float64
	w := 2 * math.Pi * hz / rate
	filterDelay := math.Atan2(p.damping*math.Sin(w), 1-p.damping*math.Cos(w)) / w
	filterGain := (1 - p.damping) / math.Sqrt(1-2*p.damping*math.Cos(w)+p.damping*p.damping)
	loop := func(decay float64) float64 { return math.Min(0.99999, math.Pow(1e-3, 1/(hz*decay))/filterGain) }
	gain, released := loop(p.decayS), loop(p.releaseS)
	period := rate / hz
	attack := excite(int(period*(1+p.position))+2, period*p.position, strength, p, r)

	var held float64
	delay := period - filterDelay
	tap := math.Max(1, p.pickup*period)
	tail := samples(1.2*p.releaseS) + 1
	for i := 0; i < length+tail && at+i < len(out); i++ {
		if bend != nil && i%16 == 0 {
			delay = period*math.Exp2(-bend(float64(i)/rate)/12) - filterDelay
		}
		whole := int(delay) - 1
		d := delay - float64(whole) // 1..2, the flat middle of the interpolator
		base := i - whole + 4*size
		x0, x1, x2, x3 := line[base&(size-1)], line[(base-1)&(size-1)], line[(base-2)&(size-1)], line[(base-3)&(size-1)]
		d1, d2, d3 := d-1, d-2, d-3
		y := -x0*d1*d2*d3/6 + x1*d*d2*d3/2 - x2*d*d1*d3/2 + x3*d*d1*d2/6
		held = (1-p.damping)*y + p.damping*held
		g := gain
		if i > length {
			g = released
		}
		v := g * held
		if i < len(attack) {
			v += attack[i]
		}
		line[i&(size-1)] = v
		if p.pickup > 0 {
			v -= line[(i-int(tap)+4*size)&(size-1)]
		}
		if at+i >= 0 {
			out[at+i] += v
		}
	}
}

// excite makes the wave that enters the string: the edge of the finger or pick, and again, reversed, after its
// reflection at the bridge.
func excite(n int, reflection, strength float64, p pluck, r *rand.Rand) []float64 {
	x := make([]float64, n)
	edge := math.Exp(-2 * math.Pi * p.edgeHz * (0.5 + strength) / rate)
	slope := math.Exp(-2 * math.Pi * 120 / rate)
	var a, b, c float64
	scrape := samples(0.004)
	for i := range x {
		var in float64
		if i == 0 {
			in = 1
		}
		if i < scrape {
			in += p.scrape * 0.06 * r.NormFloat64()
		}
		a = edge*a + (1-edge)*in
		b = edge*b + (1-edge)*a
		c = slope*c + b // a plucked string's velocity falls with 1/n
		x[i] = strength * (0.15*b + 0.08*c)
	}
	k := int(reflection)
	for i := n - 1; i >= k; i-- {
		x[i] -= x[i-k]
	}
	return x
}
