package kinship

import (
	"math"
	"slices"
)

// The three looks at the audio. Screening sees every pair, but few bins; its long windows catch echoes and tails.
// The second look follows 17 lags of 128 ms for the pairs that passed; the third takes every bin for those that stay.
var (
	screening = framing{size: 4096, stride: 16}
	lagged    = framing{size: 1024, stride: 4}
	fine      = framing{size: 1024, stride: 1}

	screenLags = []int{-1, 0, 1}
	tailLags   = []int{-8, -7, -6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8}
)

const (
	zeroLag   = 8    // index of lag 0 in tailLags
	compact   = 0.8  // sharpness: springs 0.69, halls 0.2-0.5
	passScore = 0.02 // of the screening

	candidatesPerTrack = 6 // sessions seen have 1 to 6; loops that repeat to the sample may give many more

)

// Pair holds what was measured between two tracks that share sound.
type Pair struct {
	A, B       int
	BFromA     [17]float64 // share of B's power that is a linear image of A, per lag of -8..8 half windows of 128 ms
	AFromB     [17]float64 // and of A's that is one of B
	Luck       float64     // the share that unconnected tracks sounding as little would show at one lag
	Coherence  float64     // power-weighted mean magnitude-squared coherence at the best lag, less what chance gives; 0..1
	LagSeconds float64     // B comes this much after A
	Flipped    bool        // polarity
	Sharpness  float64     // height of the peak of the phase transform, 0..1
	Prominence float64     // of that peak over the root mean square of the transform; chance gives 3 to 8
	Steadiness float64     // how alike the envelopes run: lower quartile over the bands of the correlation in dB
	FollowsA   float64     // how well B's envelope runs along with A's with a tail, see follows
	FollowsB   float64     // and A's with B's
	Profile    float64     // mean difference of the bands' peak levels in dB, level apart
}

// Comparison is all that was found between the tracks of a session.
type Comparison struct {
	sketches []Sketch
	pairs    []Pair
	doubles  []Relation
	outlines []outline
}

// candidate is a pair that passed the screening.
type candidate struct {
	pair  [2]int
	score float64
}

// strongest keeps the n best candidates, in the order they came.
func strongest(list []candidate, n int) [][2]int {
	if len(list) > n {
		scores := make([]float64, len(list))
		for i, c := range list {
			scores[i] = c.score
		}
		slices.Sort(scores)
		least := scores[len(scores)-n]
		list = slices.DeleteFunc(list, func(c candidate) bool { return c.score < least })
	}
	pairs := make([][2]int, len(list))
	for i, c := range list {
		pairs[i] = c.pair
	}
	return pairs
}

// Compare measures all pairs. Sketches that no Sketcher could have made count as silent.
func Compare(sketches []Sketch) *Comparison {
	sketches = slices.Clone(sketches)
	for i := range sketches {
		if !sketches[i].valid() {
			sketches[i] = Sketch{}
		}
	}
	c := &Comparison{sketches: sketches, outlines: outlines(sketches)}
	gains := make([]float32, len(sketches))
	var sounding []int
	for i := range sketches {
		if gains[i] = normalise(&sketches[i]); gains[i] > 0 {
			sounding = append(sounding, i)
		}
	}
	var all [][2]int
	for k, i := range sounding {
		for _, j := range sounding[k+1:] {
			all = append(all, [2]int{i, j})
		}
	}
	var kept []candidate
	for _, x := range measure(sketches, gains, screening, func(int) []int { return screenLags }, all) {
		ofY, ofX := x.shares(screening.frames())
		var top float64
		for l := range ofY {
			top = max(top, ofY[l], ofX[l])
		}
		if top > passScore {
			kept = append(kept, candidate{pair: [2]int{x.x, x.y}, score: top})
		}
	}
	c.follow(gains, strongest(kept, candidatesPerTrack*len(sounding)))
	c.findDoubles(gains, all)
	return c
}

// findDoubles looks at the pairs of like timbre that share no waveform.
func (c *Comparison) findDoubles(gains []float32, all [][2]int) {
	akin := map[[2]int]bool{}
	for i := range c.pairs {
		if c.pairs[i].akin() {
			akin[[2]int{c.pairs[i].A, c.pairs[i].B}] = true
		}
	}
	sketches := c.sketches
	var tried [][2]int
	for _, p := range all {
		if !akin[p] && c.outlines[p[0]].profile(&c.outlines[p[1]]) <= likeTimbre+2 {
			tried = append(tried, p)
		}
	}
	for i, r := range double(sketches, gains, tried) {
		if !r.doubles(0) {
			continue
		}
		a, b := tried[i][0], tried[i][1]
		if _, profile := likeness(&sketches[a], &sketches[b]); profile <= likeTimbre && r.doubles(profile) {
			c.doubles = append(c.doubles, Relation{A: a, B: b, Kind: Double, Confidence: min(1, 0.4+(r.above-samePartials)*2)})
		}
	}
}

// normalise returns the gain that brings a track's pieces to unit power, 0 for a track without sound.
func normalise(s *Sketch) float32 {
	var sum float64
	for _, c := range s.Chunks {
		sum += c.Power
	}
	if n := len(s.Chunks); sum > 0 && sum < math.MaxFloat32 {
		return float32(math.Sqrt(float64(n) / sum))
	}
	return 0
}

// follow takes the second and third look.
func (c *Comparison) follow(gains []float32, kept [][2]int) {
	self := map[int]int{}
	looks := kept
	for _, p := range kept {
		for _, i := range p {
			if _, ok := self[i]; !ok {
				self[i] = len(looks)
				looks = append(looks, [2]int{i, i})
			}
		}
	}
	second := measure(c.sketches, gains, lagged, func(int) []int { return tailLags }, looks)
	spread := make(map[int]float64, len(self))
	for i, at := range self {
		own, _ := second[at].shares(lagged.frames())
		var sum float64
		for _, v := range own {
			sum += max(v, 0)
		}
		spread[i] = max(sum, 1)
	}
	c.pairs = make([]Pair, len(kept))
	lags := make([][]int, len(kept))
	for i := range kept {
		p := &c.pairs[i]
		p.A, p.B = kept[i][0], kept[i][1]
		ofB, ofA := second[i].shares(lagged.frames())
		for l := range ofB {
			p.BFromA[l], p.AFromB[l] = ofB[l]/spread[p.A], ofA[l]/spread[p.B]
		}
		lag := p.loudestLag()
		p.Luck = second[i].luck(lag + zeroLag)
		lags[i] = []int{lag}
	}
	third := measure(c.sketches, gains, fine, func(i int) []int { return lags[i] }, kept)
	parallel(maxWorkers(), len(kept), func(_, i int) { c.refine(&c.pairs[i], third[i]) })
}

// loudestLag is the lag in half windows at which the two have most in common, 0 unless another is much better.
func (p *Pair) loudestLag() int {
	at := zeroLag
	for l := range p.BFromA {
		if p.BFromA[l]+p.AFromB[l] > 2*max(0, p.BFromA[at]+p.AFromB[at]) {
			at = l
		}
	}
	return at - zeroLag
}

// refine takes in the third look.
func (c *Comparison) refine(p *Pair, x *cross) {
	a, b := &c.sketches[p.A], &c.sketches[p.B]
	p.Coherence = x.coherence(0)
	p.LagSeconds, p.Sharpness, p.Prominence, p.Flipped = x.delay(0)
	p.LagSeconds += float64(x.lags[0]*fine.size/2) / waveRateHz
	p.Steadiness, p.Profile = likeness(a, b)
	if p.Sharpness < compact { // else there is no tail
		p.FollowsA, _ = follows(a, b, max(p.LagSeconds, 0))
		p.FollowsB, _ = follows(b, a, max(-p.LagSeconds, 0))
	}
}

// Pairs returns what was measured between the tracks that share sound.
func (c *Comparison) Pairs() []Pair { return c.pairs }
