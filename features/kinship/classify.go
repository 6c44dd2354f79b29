package kinship

import (
	"cmp"
	"slices"
)

const (
	// Binds is the certainty from which a relation binds. Of the relations that reached 0.9 by the waveforms alone, in sessions
	// left out of training, 93 of 100 were true in bands, 97 among effects, 99 on grids, all of a real kit's; what names
	// and ears say of the two parts most of the rest (package fold).
	Binds = 0.85
	// stated is the certainty from which a relation is mentioned at all.
	stated = 0.5
	// linear is the coherence from which a copy is one through a linear path; 8 bits of the sketches and filters' edges cost
	// the rest.
	linear = 0.95
	// sure is the certainty of the direction from which a copy is said to be made from the other.
	sure = 0.95
)

// Relations classifies the pairs.
func (c *Comparison) Relations() []Relation {
	var out []Relation
	for i := range c.pairs {
		p := &c.pairs[i]
		if r, ok := c.judge(p, weigh(c.vector(p, p.A), c.vector(p, p.B))); ok {
			out = append(out, r)
		}
	}
	slices.SortFunc(out, func(x, y Relation) int { return cmp.Or(cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B)) })
	compete(out)
	return out
}

// judge states the most probable relation of a pair, if there is one. Its confidence is the probability that the two are
// kin at all, or are a double or bleed.
func (c *Comparison) judge(p *Pair, v verdict) (Relation, bool) {
	// Kin in one way or another, against none, double and bleed, decides first; then the most probable way.
	var kin float64
	best, sum := hypNone, 0.0
	other, others := hypNone, 0.0
	mono := c.sketches[p.A].Channels < 2 && c.sketches[p.B].Channels < 2
	possible := 1.0
	for k := range v.there {
		p := v.there[k] + v.back[k]
		if k == hypSides && !mono {
			possible -= p
			continue // a file with two channels is no side
		}
		if k == hypCopy || k == hypSides || k == hypSum || k == hypReturn {
			kin += p
			if p > sum {
				best, sum = k, p
			}
		} else if p > others {
			other, others = k, p
		}
	}
	certain, copies, bleed := kin, 0.0, v.there[hypBleed]+v.back[hypBleed]
	if best == hypCopy && possible > 0 {
		copies = kin / possible
	}
	oneSound := kin+bleed >= Binds // in one way or another, though neither may be sure
	switch {
	case oneSound && bleed > kin:
		best, sum, certain = hypBleed, bleed, bleed
	case kin < stated && !oneSound:
		best, sum, certain = other, others, others
	}
	if best == hypNone || certain < stated && !oneSound {
		return Relation{}, false
	}
	derived, source, way := p.B, p.A, v.there[best]/sum
	if v.back[best] > v.there[best] {
		derived, source, way = p.A, p.B, 1-way
	}
	o := p.seen(source)
	if best == hypSum && c.members[[2]int{source, derived}].members < 2 {
		best = hypCopy // of one
	}
	r := Relation{A: derived, B: source, LagSeconds: o.lag, PolarityFlipped: p.Flipped, Coherence: p.Coherence, Share: o.total, Confidence: certain}
	if mono {
		r.Sides = v.there[hypSides]
	}
	if copies > 0 {
		r.Copy, r.Bleed = copies, bleed/possible
	}
	switch best {
	case hypCopy:
		r.Kind = Copy
		if p.Coherence < linear && way >= sure {
			r.Kind = Processed
		}
		if p.identical() {
			r.Kind = Identical
		}
	case hypSides:
		r.Kind = Sides
	case hypSum:
		r.Kind = Sum
		r.Share = min(max(c.members[[2]int{source, derived}].share, 0), 1)
	case hypReturn:
		r.Kind = Return
	case hypDouble:
		r.Kind = Double
	case hypBleed:
		r.Kind = Bleed
	}
	if r.Kind != Processed && r.Kind != Sum && r.Kind != Return && r.A > r.B {
		r.A, r.B = r.B, r.A
		r.LagSeconds, r.Share = -r.LagSeconds, p.seen(r.B).total
	}
	return r, true
}

// identical tells whether nothing but gain and polarity lies between the two.
func (p *Pair) identical() bool {
	return p.Coherence > 0.9999 && p.LagSeconds < 1e-5 && p.LagSeconds > -1e-5 && p.Steadiness > 0.99 && p.Profile < 0.3
}
