package kinship

import (
	"cmp"
	"math"
	"slices"
)

// Thresholds were set on rendered band sessions with known relations; the values seen there are beside them.
const (
	leastShare     = 0.08 // of one lag; unrelated tracks stay below 0.05, strings on held notes 0.06
	leastCoherence = 0.05 // 0.04 for organ and strings on held chords
	noise          = 0.015

	nearLag       = 0.25e-3 // a processed copy is as good as on time; a second microphone is not
	copyLag       = 12e-3
	leastPeak     = 6 // prominence; rooms in pairs 6.3; held chords of synthesisers 4-6, though their coherence reaches 0.5
	exactPeak     = 15
	clearPeak     = 10 // prominence; a crash in a bus 17, a snare in the microphone of a tom 8-13, unrelated tracks up to 8.4
	echoPeak      = 7
	echoFit       = 0.85
	linear        = 0.95 // coherence of copies: filtered 0.99, second microphone 0.96-0.998, through an amplifier 0.91-0.94
	centred       = 0.3e-3
	alike         = 0.985  // coherence that needs no other evidence; nearly all of a hat's microphone is brushes on a snare at 0.958
	pairLag       = 1.5e-3 // spaced overheads 0.7-0.9 ms
	spaced        = 0.92   // coherence above which a delay speaks for two microphones on one drum
	bleedLag      = 60e-3  // 20 m
	onTime        = 0.1e-3 // members of a sum: within 0.02 ms
	sumCoherence  = 0.1
	tailAsymmetry = 0.2
	oneSource     = 0.6 // of a return's power explained by its one source: springs 0.76, halls and echoes 0.85-1
	manySources   = 0.8 // by several sources together: 0.82-1.3; a room microphone before a band 0.78
	diffuseFit    = 0.7
	closeFollower = 0.78 // how well the envelopes of effects run along with their source: 0.8-0.95; rooms with microphones of a kit 0.3-0.8
	lateShare     = 0.25 // of a return's image a quarter of a second and more behind: halls 0.25-0.5, rooms of a kit 0.14
)

// Relations classifies the pairs.
func (c *Comparison) Relations() []Relation {
	var out []Relation
	taken := map[[2]int]bool{}
	say := func(kind Kind, o oriented, confidence float64) {
		key := [2]int{o.pair.A, o.pair.B}
		if taken[key] {
			return
		}
		taken[key] = true
		out = append(out, Relation{A: o.to, B: o.from, Kind: kind, LagSeconds: o.lag, PolarityFlipped: o.pair.Flipped,
			Coherence: o.pair.Coherence, Share: o.total, Confidence: min(max(confidence, 0), 1)})
	}
	var akin []*Pair
	for i := range c.pairs {
		if c.pairs[i].akin() {
			akin = append(akin, &c.pairs[i])
		}
	}
	c.sums(akin, taken, say)
	for _, p := range akin {
		switch kind, confidence := c.sameSound(p); kind {
		case Unrelated:
		case SplitStereo:
			say(kind, p.seen(p.B), confidence)
		default:
			say(kind, p.derived(), confidence)
		}
	}
	c.returns(akin, taken, say)
	for _, p := range akin {
		if math.Abs(p.LagSeconds) > bleedLag || p.Prominence < leastPeak {
			continue
		}
		say(Bleed, p.seen(p.B), (p.best()-leastShare)/0.3+0.3)
	}
	for _, d := range c.doubles {
		if !taken[[2]int{d.A, d.B}] {
			out = append(out, d)
		}
	}
	slices.SortFunc(out, func(x, y Relation) int { return cmp.Or(cmp.Compare(x.A, y.A), cmp.Compare(x.B, y.B)) })
	return out
}

// derived guesses which of two copies was made from the other: the later one, or without delay the second.
func (p *Pair) derived() oriented {
	if p.LagSeconds < -onTime {
		return p.seen(p.B)
	}
	return p.seen(p.A)
}

// sameSound decides whether the two carry one performance in one sound.
func (c *Comparison) sameSound(p *Pair) (Kind, float64) {
	lag := math.Abs(p.LagSeconds)
	mono := c.sketches[p.A].Channels == 1 && c.sketches[p.B].Channels == 1
	tail := max(math.Abs(p.seen(p.A).tail()), math.Abs(p.seen(p.B).tail()))
	switch {
	case p.Coherence > 0.9999 && lag < 1e-5 && p.Steadiness > 0.99 && p.Profile < 0.3:
		return Identical, 1
	case mono && p.Coherence < linear && c.pairedMicrophones(p):
		return SplitStereo, 0.5 + (p.Steadiness-0.8)*2 + (p.Coherence-0.25)/2
	case lag > copyLag || tail > 0.5 || p.Prominence < leastPeak:
		return Unrelated, 0
	case p.Coherence >= alike:
		return Copy, 0.8
	case p.Coherence >= linear && (p.Steadiness >= 0.9 || p.Steadiness >= 0.85 && lag <= nearLag):
		return Copy, 0.5 + (p.Steadiness-0.85)*4
	case lag <= nearLag && p.Coherence >= 0.5 && p.Steadiness >= 0.84,
		lag <= nearLag && p.Coherence >= 0.7 && p.Steadiness >= 0.72,
		p.Steadiness >= 0.9 && p.Coherence+2*(p.Steadiness-0.9) >= 0.9:
		return Compressed, 0.3 + (p.Coherence-0.5)*0.6 + max((p.Steadiness-0.8)*2, 0)
	case lag <= onTime && p.Coherence >= 0.4 && p.Prominence >= exactPeak: // two microphones are never that near each other, unless in one housing
		return Compressed, 0.3 + (p.Coherence-0.4)*0.6
	case p.Coherence >= 0.85 && lag <= 5e-3 && !c.amongMicrophones(p):
		return Compressed, 0.3 + (p.Coherence-0.5)*0.6
	}
	return Unrelated, 0
}

// pairedMicrophones tells whether two files are the sides of one stereo sound: equally bright, moving together, and
// late to one another by no more than two microphones over one instrument are.
func (c *Comparison) pairedMicrophones(p *Pair) bool {
	lag := math.Abs(p.LagSeconds)
	if p.Steadiness < 0.8 || p.Coherence < 0.25 || p.Profile > 3 || p.Prominence < leastPeak {
		return false
	}
	switch {
	case lag < centred:
		return true
	case lag < pairLag:
		return p.Coherence < spaced && (p.Coherence >= 0.45 || p.Profile <= 2)
	}
	// A wide sound without one direction: the transform shows no clear delay.
	return lag < copyLag && p.Sharpness < 0.5 && p.Steadiness >= 0.9 && p.Profile <= 2.5 && p.Coherence >= 0.4
}

// amongMicrophones tells whether either track shares sound with a third, and not wholly: then the two are
// microphones of one room, and nearly all of what they hear may be one source without their being its copies.
func (c *Comparison) amongMicrophones(p *Pair) bool {
	for i := range c.pairs {
		q := &c.pairs[i]
		if q == p || q.Coherence < 0.1 || q.Coherence >= 0.8 || q.Prominence < leastPeak || math.Abs(q.LagSeconds) > bleedLag {
			continue
		}
		if q.A == p.A || q.A == p.B || q.B == p.A || q.B == p.B {
			return true
		}
	}
	return false
}

// sums finds tracks that are sums of others. A sum carries each member without delay, though the members among
// themselves are either unconnected or late to one another, as microphones of one kit are; no microphone can be at
// no distance from two that are apart.
func (c *Comparison) sums(akin []*Pair, taken map[[2]int]bool, say func(Kind, oriented, float64)) {
	index := map[[2]int]*Pair{}
	members := map[int][]oriented{}
	for _, p := range akin {
		index[[2]int{p.A, p.B}] = p
		if math.Abs(p.LagSeconds) < onTime && (p.Coherence >= sumCoherence && p.Sharpness >= 0.5 || p.Prominence >= clearPeak && p.Sharpness >= 0.8) && !p.Flipped && !taken[[2]int{p.A, p.B}] {
			members[p.A] = append(members[p.A], p.seen(p.B))
			members[p.B] = append(members[p.B], p.seen(p.A))
		}
	}
	apart := func(u, v int) bool {
		p := index[[2]int{min(u, v), max(u, v)}]
		return p == nil || p.Coherence < sumCoherence/2 || math.Abs(p.LagSeconds) > 3*onTime
	}
	for sum := range c.sketches {
		for i, o := range members[sum] {
			for j, q := range members[sum] {
				if i != j && apart(o.from, q.from) {
					say(PartOfSum, o, 0.5+o.pair.Coherence)
					break
				}
			}
		}
	}
}

// returns finds effects: the derived track holds the source with a tail behind it. A room microphone, which has tails
// of many microphones that hear one another, is left to Bleed unless one source explains nearly all of it.
func (c *Comparison) returns(akin []*Pair, taken map[[2]int]bool, say func(Kind, oriented, float64)) {
	sources := map[int][]oriented{}
	coherent := map[[2]int]float64{}
	for _, p := range akin {
		coherent[[2]int{p.A, p.B}] = p.Coherence
		for _, from := range []int{p.A, p.B} {
			o := p.seen(from)
			if o.lopsided() || o.diffuse() {
				sources[o.to] = append(sources[o.to], o)
			}
		}
	}
	for to := range c.sketches {
		list := sources[to]
		if len(list) == 0 {
			continue
		}
		slices.SortStableFunc(list, func(x, y oriented) int { return cmp.Compare(y.total, x.total) })
		top := list[0]
		var sum float64
		for i, o := range list {
			if i == 0 || coherent[[2]int{min(o.from, top.from), max(o.from, top.from)}] < 0.1 {
				sum += o.total
			}
		}
		if top.total < 0.9 && top.late < lateShare && hearEachOther(list, coherent) >= 3 {
			continue
		}
		trust := 2 * (min(sum, 1) - 0.5)
		if top.total < oneSource && sum < manySources {
			// The image is incomplete, as it is with effects that move or with sound above the band compared;
			// but the derived track does nothing that the source, given a tail, would not.
			fit := slices.MaxFunc(list, func(x, y oriented) int { return cmp.Compare(x.follows(), y.follows()) })
			if !fit.diffuse() && (fit.follows() < closeFollower || fit.tail() < 0.3) {
				continue
			}
			top = fit
			trust = 0.5 + 2*(fit.follows()-closeFollower)
		}
		for _, o := range list {
			link := coherent[[2]int{min(o.from, top.from), max(o.from, top.from)}]
			ensemble := top.late >= lateShare && o.total > 0.4*top.total && top.total < 0.9
			if o.from == top.from || link < 0.1 || o.total > 0.95*top.total || ensemble {
				say(Return, o, trust)
			}
		}
	}
}

// hearEachOther counts the sources that are heard, not wholly, by the next stronger ones: microphones in one room.
func hearEachOther(list []oriented, coherent map[[2]int]float64) int {
	n := 0
	for i, o := range list {
		for j, q := range list {
			link := coherent[[2]int{min(o.from, q.from), max(o.from, q.from)}]
			if i != j && o.total >= 0.2*list[0].total && q.total >= 0.2*list[0].total && link > 0.02 && link < 0.8 {
				n++
				break
			}
		}
	}
	return n
}
