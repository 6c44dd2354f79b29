package kinship

import (
	"math"
	"slices"
)

// oriented is a pair seen from a possible derived track towards its source.
type oriented struct {
	pair        *Pair
	from, to    int     // source, derived
	total       float64 // share of the derived track's power that is an image of the source
	before, now float64 // parts of it at negative lags, at lag 0
	after, late float64 // at lags from 1, from 2 half windows on; late is a fraction of total
	lag         float64 // derived after source
}

func (p *Pair) seen(from int) oriented {
	o := oriented{pair: p, from: p.A, to: p.B, lag: p.LagSeconds}
	shares := &p.BFromA
	if from == p.B {
		o.from, o.to, o.lag = p.B, p.A, -p.LagSeconds
		shares = &p.AFromB
	}
	for l := range shares {
		// AFromB at index l is A from B when B comes l-8 half windows after A.
		v := shares[l]
		if v < noise {
			continue
		}
		at := l - zeroLag
		if from == p.B {
			at = -at
		}
		switch {
		case at < 0:
			o.before += v
		case at == 0:
			o.now += v
		default:
			o.after += v
			if at > 1 {
				o.late += v
			}
		}
	}
	if all := o.before + o.now + o.after; all > 0 {
		o.late /= all
	}
	o.total = min(o.before+o.now+o.after, 1)
	return o
}

// tail is the lopsidedness of the image in time: 0 for a copy, towards 1 for echoes and reverberation.
func (o oriented) tail() float64 {
	if o.pair.echoes() {
		return math.Copysign(1, o.lag)
	}
	all := o.before + o.now + o.after
	if !(all > 0) {
		return 0
	}
	return (o.after - o.before) / all
}

// best is the largest share at a single lag, either way.
func (p *Pair) best() float64 {
	return max(slices.Max(p.BFromA[:]), slices.Max(p.AFromB[:]))
}

// follows tells how well the derived track's envelope runs along with the source's.
func (o oriented) follows() float64 {
	if o.from == o.pair.A {
		return o.pair.FollowsA
	}
	return o.pair.FollowsB
}

// lopsided tells whether the image of the source in the derived track trails behind it.
func (o oriented) lopsided() bool {
	back := o.pair.seen(o.to)
	if o.total >= oneSource && o.tail() >= tailAsymmetry/2 && o.lag >= 5e-3 && o.pair.Sharpness < 0.4 {
		return true // nearly all of it, but on notes so long that the image trails on both sides
	}
	return o.tail() >= tailAsymmetry && back.tail() < 0 && (o.total >= leastShare || o.pair.echoes()) && (o.lag > 3e-3 || o.tail() > 0.4 && o.lag > -2e-3)
}

// diffuse tells whether the derived track is late, without a sharp beginning, and runs along with the source if that is
// given a tail, but not the other way: so it is with reverberation on held notes, whose images in time are even.
func (o oriented) diffuse() bool {
	back := o.pair.seen(o.to)
	return o.follows() >= diffuseFit && o.follows() >= back.follows()+0.08 && o.lag >= 5e-3 && o.lag <= 80e-3 && o.pair.Sharpness < 0.6
}

// akin tells whether the two share more than chance gives.
func (p *Pair) akin() bool {
	return p.best() >= leastShare+2*p.Luck || p.Coherence >= leastCoherence+1.2*p.Luck || p.echoes() || p.trails() ||
		p.Prominence >= clearPeak && math.Abs(p.LagSeconds) <= bleedLag
}

// trails tells whether one runs along with the other so well, once that is given a tail, and so much worse the other
// way about, that a coherence little above chance will do.
func (p *Pair) trails() bool {
	lag, fit, back := p.LagSeconds, p.FollowsA, p.FollowsB
	if lag < 0 {
		lag, fit, back = -lag, back, fit
	}
	return p.Coherence >= leastCoherence+p.Luck/2 && lag >= 5e-3 && lag <= 80e-3 && fit >= echoFit && fit >= back+0.15
}

// echoes tells whether one is the other's echo, though its delay wavers and leaves no coherence to speak of.
func (p *Pair) echoes() bool {
	return p.Prominence >= echoPeak && (p.LagSeconds > bleedLag && p.FollowsA >= echoFit || p.LagSeconds < -bleedLag && p.FollowsB >= echoFit)
}
