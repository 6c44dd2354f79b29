package homes

import (
	"math"
	"math/rand/v2"
)

// fits is the probability that a track of role r stands on pair q.
func (h *Model) fits(r, q int) float64 {
	p := h.stray / float64(h.pairs)
	switch a := h.at[r]; {
	case a[1] < 0 && a[0] == q:
		p += 1 - h.stray
	case a[1] >= 0 && (a[0] == q || a[1] == q):
		p += (1 - h.stray) / 2
	}
	return p
}

// part is the joint probability of the unit's role being r and its members standing where they do.
func (h *Model) part(u *Unit, r int) float64 {
	p := (1 - u.Free) * u.Belief[r]
	for i, q := range u.On {
		p *= math.Pow(h.fits(r, q), u.alone[i])
	}
	return p
}

func (h *Model) freePart(u *Unit) float64 {
	p := u.Free
	for _, a := range u.alone {
		p *= math.Pow(1/float64(h.pairs), a)
	}
	return p
}

// keepParts renews what is kept of role r, after its homes have changed.
func (h *Model) keepParts(r int) {
	for i := range h.units {
		if u := &h.units[i]; u.Belief[r] >= leastBelief {
			h.parts[i][r] = h.part(u, r)
		}
	}
}

// draw samples the homes of role r given those of the others. Units that cannot have the role say nothing about it.
func (h *Model) draw(r int, heat float64, rng *rand.Rand) {
	say := h.hear(r)
	var options [][2]int
	var score []float64
	best := math.Inf(-1)
	try := func(a [2]int) {
		h.at[r] = a
		s := h.habit(r) + say.of(h, r)
		options, score = append(options, a), append(score, s)
		best = max(best, s)
	}
	for a := range h.pairs {
		try([2]int{a, -1})
		for b := a + 1; b < h.pairs && say.held[a]; b++ {
			if say.held[b] {
				try([2]int{a, b})
			}
		}
	}
	var sum float64
	for i := range score {
		score[i] = math.Exp((score[i] - best) / heat)
		sum += score[i]
	}
	x := rng.Float64() * sum
	for i := range score {
		if x -= score[i]; x <= 0 || i == len(score)-1 {
			h.at[r] = options[i]
			break
		}
	}
	h.keepParts(r)
}

// hearsay is what the units say about the homes of one role, given those of all others: sums of log probabilities, made
// once for all the homes that are tried. A unit whose members stand on one pair can only find that it is no home, the
// only one, or one of two.
type hearsay struct {
	away      float64   // if no pair were a home
	only      []float64 // per pair: what that changes if it is the only home
	oneOf     []float64 // per pair: what that changes if it is one of two
	held      []bool    // pairs on which a unit stands that may have the role
	scattered []int     // units that stand on several pairs: asked anew each time
	rest      []float64 // of those: their probability by way of other roles
}

// hear collects what the units say about role r.
func (h *Model) hear(r int) *hearsay {
	say := &hearsay{only: make([]float64, h.pairs), oneOf: make([]float64, h.pairs), held: make([]bool, h.pairs)}
	for i := range h.units {
		u := &h.units[i]
		if u.Belief[r] < leastBelief {
			continue
		}
		rest := h.freePart(u)
		for _, o := range h.roles {
			if o != r {
				rest += h.parts[i][o]
			}
		}
		for _, q := range u.On {
			say.held[q] = true
		}
		if u.place < 0 {
			say.scattered, say.rest = append(say.scattered, i), append(say.rest, rest)
			continue
		}
		said := func(homes [2]int) float64 {
			h.at[r] = homes
			return math.Log(rest + h.part(u, r))
		}
		away := said([2]int{-1, -1})
		say.away += away
		say.only[u.place] += said([2]int{u.place, -1}) - away
		say.oneOf[u.place] += said([2]int{u.place, h.pairs}) - away // the other one does not matter
	}
	return say
}

// of is what the units say of the present homes of role r.
func (s *hearsay) of(h *Model, r int) float64 {
	a, sum := h.at[r], s.away
	if a[1] < 0 {
		sum += s.only[a[0]]
	} else {
		sum += s.oneOf[a[0]] + s.oneOf[a[1]]
	}
	for k, i := range s.scattered {
		sum += math.Log(s.rest[k] + h.part(&h.units[i], r))
	}
	return sum
}
