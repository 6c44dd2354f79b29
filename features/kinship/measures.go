package kinship

import "math"

// Measures names the elements of the vector by which a pair is judged, seen from a possible source towards a possible
// derived track. All are the same when a track is multiplied by any gain.
var Measures = []string{
	"coherence", "lag", "behind", "sharpness", "prominence", "steadiness", "profile",
	"share", "share_back", "tail", "tail_back", "late", "late_back", "follows", "follows_back", "luck",
	"rhythm", "rhythm_contrast", "rhythm_lag", "rhythm_still", "partials", "partials_above", "octave", "octave_above",
	"repeats", "repeats_more",
	"range", "crest", "bright", "width", "active", "floor", "channels", "mono", "polarity",
	"explained", "explained_even", "explained_share", "members",
	"explained_back", "explained_even_back", "explained_share_back", "members_back",
	"fed", "rank", "rank_back", "neighbours", "neighbours_back", "alone", "alone_back", "screen",
	"sharp_coherence", "steady_coherence", "near_coherence", "steady_rhythm", "partial_rhythm",
	"room_coherence", "room_near", "room_share", "sharp_near", "fed_tail", "explained_tail",
	"range_apart", "crest_apart", "bright_apart", "width_apart", "active_apart", "floor_apart", "company", "mono_coherence", "mono_steady", "mono_company",
	"sources", "sources_back", "sources_share", "rank_coherence", "rank_share", "alone_rhythm", "alone_coherence",
	"grid", "grid_coherence", "grid_share", "grid_share_back", "grid_sharp", "grid_rhythm", "grid_steady", "grid_partials", "grid_tail", "grid_explained",
	"echoed", "echoed_far", "echo_share", "echo_sharp", "beyond", "beyond_share", "rival", "rival_share", "rival_beyond", "through", "through_back", "heard", "heard_share", "heard_tail",
}

// context is what the other pairs say about a track.
type context struct {
	fed        float64 // sum over the others of the shares of its power they explain
	top        float64 // the largest of them
	sources    int     // tracks whose image in it, 6 % and more of its power, trails or is late
	neighbours int     // tracks that share some sound with it a little late, as microphones of one room do
}

func contexts(pairs []Pair, n int) []context {
	out := make([]context, n)
	for i := range pairs {
		p := &pairs[i]
		for _, from := range []int{p.A, p.B} {
			o := p.seen(from)
			c := &out[o.to]
			c.fed += o.total
			c.top = max(c.top, o.total)
			if o.total > 0.06 && (o.tail() > 0.1 || o.lag > 3e-3) {
				c.sources++
			}
			if lag := math.Abs(p.LagSeconds); p.Coherence > 0.03 && p.Coherence < 0.8 && lag > 0.2e-3 && lag < 60e-3 && p.Prominence > 6 {
				c.neighbours++
			}
		}
	}
	return out
}

// company is, for each track, how much sound it shares with each other one: n x n.
func company(pairs []Pair, n int) [][]float64 {
	out := make([][]float64, n)
	for i := range out {
		out[i] = make([]float64, n)
	}
	for i := range pairs {
		p := &pairs[i]
		v := math.Sqrt(max(p.Coherence, 0))
		out[p.A][p.B], out[p.B][p.A] = v, v
	}
	return out
}

// cosine is the cosine between two rows, what the two tracks have of one another left out; 0 for one without company.
func cosine(x, y []float64, a, b int) float64 {
	var xx, yy, xy float64
	for i := range x {
		if i != a && i != b {
			xx += x[i] * x[i]
			yy += y[i] * y[i]
			xy += x[i] * y[i]
		}
	}
	if !(xx > 0) || !(yy > 0) {
		return 0
	}
	return xy / math.Sqrt(xx*yy)
}

// vector measures the pair as if track from were the source. Its elements are those of Measures.
func (c *Comparison) vector(p *Pair, from int) []float64 {
	o := p.seen(from)
	back := p.seen(o.to)
	u, v := &c.traits[o.from], &c.traits[o.to]
	lag := math.Abs(o.lag)
	behind := math.Copysign(math.Log1p(min(lag, 0.5)*1e4), o.lag)
	near := math.Exp(-lag / 1e-3)
	r := p.rhythm
	repeats := min(u.repeats, v.repeats)
	cu, cv := &c.contexts[o.from], &c.contexts[o.to]
	// Where a track predicts itself, what it shares with another of the same grid is no evidence.
	grid := min(max((repeats-0.1)/0.15, 0), 1)
	room := math.Log1p(float64(min(cu.neighbours, cv.neighbours)))
	company := cosine(c.shared[o.from], c.shared[o.to], o.from, o.to)
	rank := o.total / max(cv.top, 1e-3)
	alone, aloneBack := c.alone(o.from, o.to), c.alone(o.to, o.from)
	channels := func(t int) float64 { return float64(min(c.sketches[t].Channels, 2)) }
	mono := 0.0
	if channels(o.from)+channels(o.to) == 2 {
		mono = 1
	}
	polarity := 0.0
	if p.Flipped {
		polarity = 1
	}
	far := 0.0
	if o.lag > farBehind {
		far = 1
	}
	rv, rvBack := c.rivals[[2]int{o.from, o.to}], c.rivals[[2]int{o.to, o.from}]
	sum, sumBack := c.members[[2]int{o.from, o.to}], c.members[[2]int{o.to, o.from}]
	return []float64{
		p.Coherence, math.Log10(lag*1e3 + 0.01), behind, p.Sharpness, math.Log(max(p.Prominence, 1)), p.Steadiness, min(p.Profile, 15),
		o.total, back.total, o.tail(), back.tail(), o.late, back.late, o.follows(), back.follows(), min(p.Luck, 1),
		r.match, r.match - r.second, math.Log10(math.Abs(r.lagSeconds)*1e3 + 1), r.still, p.partials.same, p.partials.above, p.partials.octave, p.partials.octaveAbove,
		repeats, max(u.repeats, v.repeats),
		v.rangeDB - u.rangeDB, v.crest - u.crest, v.bright - u.bright, v.width - u.width, v.active - u.active, v.floorDB - u.floorDB, channels(o.to) - channels(o.from), mono, polarity,
		sum.explained, sum.even, sum.share, math.Log1p(float64(sum.members)),
		sumBack.explained, sumBack.even, sumBack.share, math.Log1p(float64(sumBack.members)),
		min(cv.fed, 2), rank, back.total / max(cu.top, 1e-3), math.Log1p(float64(cu.neighbours)), math.Log1p(float64(cv.neighbours)),
		alone, aloneBack, p.screen,
		p.Sharpness * p.Coherence, p.Steadiness * p.Coherence, near * p.Coherence, p.Steadiness * r.match, p.partials.same * r.match,
		room * p.Coherence, room * near, room * o.total, p.Sharpness * near, min(cv.fed, 1) * o.tail(), sum.explained * o.tail(),
		math.Abs(v.rangeDB - u.rangeDB), math.Abs(v.crest - u.crest), math.Abs(v.bright - u.bright), math.Abs(v.width - u.width), math.Abs(v.active - u.active), math.Abs(v.floorDB - u.floorDB), company, mono * p.Coherence, mono * p.Steadiness, mono * company,
		math.Log1p(float64(cv.sources)), math.Log1p(float64(cu.sources)), math.Log1p(float64(cv.sources)) * o.total, rank * p.Coherence, rank * o.total, alone * r.match, alone * p.Coherence,
		grid, grid * p.Coherence, grid * o.total, grid * back.total, grid * p.Sharpness, grid * r.match, grid * p.Steadiness, grid * p.partials.same, grid * o.tail(), grid * sum.explained,
		p.Echoed, far * p.Echoed, far * o.total, far * p.Sharpness, rv.beyond, rv.beyond * o.total, rv.coherence, rv.share, rv.beyond * rv.coherence, rv.through, rvBack.through, rv.heard, rv.heard * o.total, rv.heard * o.tail(),
	}
}

// alone is the share of track to's energy that sounds while track from does not: more than 45 dB below its loudest
// frame, in this and the ten frames before. What is made from a track is silent where that is.
func (c *Comparison) alone(from, to int) float64 {
	x, y := c.levels[from], c.levels[to]
	var sum, alone float64
	last := -1000
	for f := range y {
		if f < len(x) && x[f] > 3e-5 {
			last = f
		}
		sum += float64(y[f])
		if f-last > 5 {
			alone += float64(y[f])
		}
	}
	if !(sum > 0) {
		return 0
	}
	return alone / sum
}

// Evidence is what was measured of one pair, for training and for looking into a verdict: the vectors seen from A
// towards B as the derived track, and back. Their elements are those of Measures.
type Evidence struct {
	A, B        int
	There, Back []float64
}

// Evidence lists the pairs that were looked at closely.
func (c *Comparison) Evidence() []Evidence {
	out := make([]Evidence, len(c.pairs))
	for i := range c.pairs {
		p := &c.pairs[i]
		out[i] = Evidence{p.A, p.B, c.vector(p, p.A), c.vector(p, p.B)}
	}
	return out
}
