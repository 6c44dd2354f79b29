package demo

import (
	"cmp"
	"math"
	"slices"
)

// mode is one decaying partial: amp * exp(-t/decayS) * sin(2 pi hz t + phase).
type mode struct{ hz, decayS, amp, phase float64 }

// inaudible is where a partial is cut: 90 dB below full scale.
const inaudible = 3e-5

// ring adds partials to out. Each is a two-term recursion; four run side by side, which keeps the processor busy while
// one waits for its own last value.
func ring(out []float64, modes []mode) {
	type runner struct{ c1, c2, y1, y2 float64 }
	life := func(m mode) int {
		if math.Abs(m.amp) <= inaudible || m.hz >= 0.47*rate {
			return 0
		}
		return min(len(out), int(m.decayS*rate*math.Log(math.Abs(m.amp)/inaudible)))
	}
	slices.SortFunc(modes, func(a, b mode) int { return cmp.Compare(life(b), life(a)) })
	for len(modes) > 0 {
		var four [4]runner
		n := life(modes[0])
		if n == 0 {
			return
		}
		k := min(4, len(modes))
		for i, m := range modes[:k] {
			w := 2 * math.Pi * m.hz / rate
			r := math.Exp(-1 / (m.decayS * rate))
			if life(m) == 0 {
				continue
			}
			four[i] = runner{2 * r * math.Cos(w), -r * r, m.amp * math.Sin(m.phase-w) / r, m.amp * math.Sin(m.phase-2*w) / (r * r)}
		}
		modes = modes[k:]
		a, b, c, d := four[0], four[1], four[2], four[3]
		for i := range out[:n] {
			ya := a.c1*a.y1 + a.c2*a.y2
			yb := b.c1*b.y1 + b.c2*b.y2
			yc := c.c1*c.y1 + c.c2*c.y2
			yd := d.c1*d.y1 + d.c2*d.y2
			out[i] += ya + yb + yc + yd
			a.y1, a.y2, b.y1, b.y2 = ya, a.y1, yb, b.y1
			c.y1, c.y2, d.y1, d.y2 = yc, c.y1, yd, d.y1
		}
	}
}
