package kinship

import (
	"cmp"
	"math"
	"slices"

	"foldout/features/cores"
	"foldout/features/vec"
)

// The three looks at the audio. Screening sees every pair, but few bins; its long windows catch echoes and tails.
// The second look follows 17 lags of 128 ms for the pairs that passed; the third takes every bin for those that stay.
var (
	screening = framing{size: 4096, stride: 16, pad: vec.CrossLags - 1}
	lagged    = framing{size: 1024, stride: 4, pad: vec.CrossLags - 1}
	fine      = framing{size: 1024, stride: 1}

	screenLags = []int{-1, 0, 1}
	tailLags   = []int{-8, -7, -6, -5, -4, -3, -2, -1, 0, 1, 2, 3, 4, 5, 6, 7, 8}
)

const (
	zeroLag    = 8     // index of lag 0 in tailLags
	compact    = 0.8   // sharpness: springs 0.69, halls 0.2-0.5
	farBehind  = 40e-3 // seconds: further than microphones of one room lie apart; an echo
	passScore  = 0.02  // of the screening
	likeRhythm = 0.25
	leastAbove = 0.2
	likeTimbre = 6.5 // dB of band profile; doubles of guitars and voices 0.8-3.5

	candidatesPerTrack = 6 // sessions seen have 1 to 6; loops that repeat to the sample may give many more
)

// look is what the first look measures of every pair; small, for there are n (n - 1) / 2.
type look struct {
	A, B     int
	screen   float64 // largest share of one in the other
	rhythm   rhythm  // what the changes of level have in common
	partials likePatterns
}

// Pair holds what was measured between two tracks, A and B, that share sound or rhythm.
type Pair struct {
	look
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
	Echoed     float64     // what the changes of level have in common at that lag, 0..1
	Profile    float64     // mean difference of the bands' peak levels in dB, level apart
}

// Comparison is all that was found between the tracks of a session.
type Comparison struct {
	sketches []Sketch
	pairs    []Pair
	outlines []outline
	traits   []traits
	levels   [][]float32 // power of the frames of the outlines re the loudest
	moves    [][]changes // of the levels, per track
	members  map[[2]int]member
	rivals   map[[2]int]rival // of {source, derived}
	contexts []context
	shared   [][]float64 // see company
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
	looks := c.firstLook(gains, sounding)
	c.pairs = candidates(looks, len(sounding))
	third := c.follow(gains)
	c.lookAtTracks()
	c.members = sumsOf(c.pairs, third)
	c.rivals = rivalsOf(c.pairs, third)
	c.contexts, c.shared = contexts(c.pairs, len(sketches)), company(c.pairs, len(sketches))
	c.moves = nil
	return c
}

// firstLook sees every pair: coherence in few bins, rhythm, and the partials of those that could be one performance.
func (c *Comparison) firstLook(gains []float32, sounding []int) []look {
	n := len(sounding) * (len(sounding) - 1) / 2
	looks, all := make([]look, 0, n), make([][2]int, 0, n)
	for k, i := range sounding {
		for _, j := range sounding[k+1:] {
			all = append(all, [2]int{i, j})
			looks = append(looks, look{A: i, B: j})
		}
	}
	moves := make([][]changes, len(c.sketches))
	c.moves = moves
	movers, matchers := make([]*mover, cores.Most()), make([]*matcher, cores.Most())
	for w := range movers {
		movers[w], matchers[w] = newMover(), newMatcher()
	}
	parallel(len(movers), len(sounding), func(w, k int) {
		i := sounding[k]
		moves[i] = movers[w].of(&c.sketches[i], gains[i])
	})
	parallel(len(matchers), len(looks), func(w, i int) {
		p := &looks[i]
		p.rhythm = matchers[w].compare(moves[p.A], moves[p.B], min(c.sketches[p.A].Keep, c.sketches[p.B].Keep))
	})
	inLots(all, tileOfAll, func(at []int, part [][2]int) {
		for k, x := range measure(c.sketches, gains, screening, func(int) []int { return screenLags }, part) {
			ofY, ofX := x.shares(screening.frames())
			p := &looks[at[k]]
			for l := range ofY {
				p.screen = max(p.screen, ofY[l], ofX[l])
			}
		}
	})
	var tried [][2]int
	var which []int
	for i := range looks {
		p := &looks[i]
		if p.rhythm.match >= likeRhythm || p.screen > passScore || c.outlines[p.A].profile(&c.outlines[p.B]) <= likeTimbre {
			tried, which = append(tried, [2]int{p.A, p.B}), append(which, i)
		}
	}
	inLots(tried, tileOfAll, func(at []int, part [][2]int) {
		for k, v := range double(c.sketches, gains, part) {
			looks[which[at[k]]].partials = v
		}
	})
	return looks
}

// Tracks are compared tile by tile, those of one with those of another, so that memory grows with the number of tracks and not
// with its square. A tile for all pairs is smaller than one for those that were kept, which are few. Twice as many tracks as
// a tile holds are compared in one lot.
const (
	tileOfAll  = 50
	tileOfKept = 120
)

// inLots hands over pairs in lots of tiles, each with the places that its pairs have in the list.
func inLots(pairs [][2]int, tile int, do func(at []int, part [][2]int)) {
	last := 0
	for _, p := range pairs {
		last = max(last, p[0], p[1])
	}
	if last < 2*tile {
		tile = last + 1
	}
	lots := map[[2]int][]int{}
	var order [][2]int
	for i, p := range pairs {
		lot := [2]int{p[0] / tile, p[1] / tile}
		if lots[lot] == nil {
			order = append(order, lot)
		}
		lots[lot] = append(lots[lot], i)
	}
	for _, lot := range order {
		at := lots[lot]
		part := make([][2]int, len(at))
		for k, i := range at {
			part[k] = pairs[i]
		}
		do(at, part)
	}
}

// candidates keeps the pairs worth a closer look: by coherence, by rhythm, or by partials.
func candidates(looks []look, tracks int) []Pair {
	keep := map[int]bool{}
	strongest := func(perTrack int, score func(p *look) float64) {
		var list []int
		for i := range looks {
			if score(&looks[i]) > 0 {
				list = append(list, i)
			}
		}
		slices.SortStableFunc(list, func(i, j int) int { return cmp.Compare(score(&looks[j]), score(&looks[i])) })
		for _, i := range list[:min(len(list), perTrack*tracks)] {
			keep[i] = true
		}
	}
	strongest(candidatesPerTrack, func(p *look) float64 { return p.screen - passScore })
	strongest(2, func(p *look) float64 { return p.rhythm.match - likeRhythm })
	strongest(2, func(p *look) float64 { return max(p.partials.above, p.partials.octaveAbove) - leastAbove })
	var out []Pair
	for i := range looks {
		if keep[i] {
			out = append(out, Pair{look: looks[i]})
		}
	}
	return out
}

// lookAtTracks takes in what the tracks of the pairs tell about themselves.
func (c *Comparison) lookAtTracks() {
	used := make([]bool, len(c.sketches))
	for i := range c.pairs {
		used[c.pairs[i].A], used[c.pairs[i].B] = true, true
	}
	c.traits, c.levels = make([]traits, len(c.sketches)), make([][]float32, len(c.sketches))
	repeaters := make([]*repeater, cores.Most())
	for w := range repeaters {
		repeaters[w] = newRepeater()
	}
	parallel(len(repeaters), len(c.sketches), func(w, i int) {
		if used[i] {
			c.traits[i] = traitsOf(&c.sketches[i], repeaters[w])
			c.levels[i] = c.outlines[i].power
		}
	})
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

// follow takes the second and third look, and returns what the third saw.
func (c *Comparison) follow(gains []float32) []*cross {
	kept := make([][2]int, len(c.pairs))
	for i := range c.pairs {
		kept[i] = [2]int{c.pairs[i].A, c.pairs[i].B}
	}
	lagsOf := func(int) []int { return tailLags }
	spread := make([]float64, len(c.sketches)) // how much of a track is an image of itself, over all lags
	third := make([]*cross, len(kept))
	inLots(kept, tileOfKept, func(at []int, part [][2]int) {
		whole := slices.Clone(part) // and each track with itself, once
		for _, pair := range part {
			for _, t := range pair {
				if spread[t] == 0 {
					spread[t] = 1
					whole = append(whole, [2]int{t, t})
				}
			}
		}
		second := measure(c.sketches, gains, lagged, lagsOf, whole)
		for _, x := range second[len(part):] {
			own, _ := x.shares(lagged.frames())
			var sum float64
			for _, v := range own {
				sum += max(v, 0)
			}
			spread[x.x] = max(sum, 1)
		}
		lags := make([][]int, len(part))
		for k, x := range second[:len(part)] {
			p := &c.pairs[at[k]]
			ofB, ofA := x.shares(lagged.frames())
			for l := range ofB {
				p.BFromA[l], p.AFromB[l] = ofB[l]/spread[p.A], ofA[l]/spread[p.B]
			}
			lag := p.loudestLag()
			p.Luck = x.luck(lag + zeroLag)
			lags[k] = []int{lag}
		}
		for k, x := range measure(c.sketches, gains, fine, func(k int) []int { return lags[k] }, part) {
			third[at[k]] = x
		}
	})
	scratch := make([]matching, cores.Most())
	parallel(len(scratch), len(kept), func(w, i int) { c.refine(&c.pairs[i], third[i], &scratch[w]) })
	return third
}

// loudestLag is the lag in half windows at which the two have most in common, 0 unless another is much better.
func (p *Pair) loudestLag() int {
	at := zeroLag
	both := func(l int) float64 { return p.BFromA[l] + p.AFromB[l] }
	for l := range p.BFromA {
		if both(l) > both(at) {
			at = l
		}
	}
	if both(at) > 2*max(0, both(zeroLag)) {
		return at - zeroLag
	}
	return 0
}

// refine takes in the third look.
func (c *Comparison) refine(p *Pair, x *cross, m *matching) {
	a, b := &c.sketches[p.A], &c.sketches[p.B]
	p.Coherence = x.coherence(0)
	p.LagSeconds, p.Sharpness, p.Prominence, p.Flipped = x.delay(0)
	p.LagSeconds += float64(x.lags[0]*fine.size/2) / waveRateHz
	p.Echoed = atLag(c.moves[p.A], c.moves[p.B], min(a.Keep, b.Keep), p.LagSeconds)
	late, far := p.LagSeconds, math.Abs(p.LagSeconds) > farBehind
	lateA := 0.0
	if far {
		lateA = late
	}
	s := m.over(a, b, lateA, 0)
	p.Steadiness, p.Profile = likeness(&s.x, &s.y)
	p.FollowsA, p.FollowsB = p.Steadiness, p.Steadiness // a sharp peak has no tail
	if p.Sharpness < compact || far {
		s = m.over(a, b, max(late, 0), 0)
		p.FollowsA = follows(&s.x, &s.y, s.hop)
		s = m.over(a, b, 0, max(-late, 0))
		p.FollowsB = follows(&s.y, &s.x, s.hop)
	}
}
