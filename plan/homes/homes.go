// Package homes finds out from where tracks stand which pair is the home of which role, and which tracks are away from
// home. In go the pair of each track and what is believed of its role; out comes, for each track, the probability that it
// is out of place and where it would belong.
package homes

import (
	"math"
	"math/rand/v2"
	"slices"

	"foldout/plan/habits"
	"foldout/plan/trade"
)

// Model is the model behind Check: every role has a home, one pair or two, and every track stands on a home of its
// role, but for the few that stand anywhere. Which role a track has is a Belief; which homes the roles have is found
// from all tracks together, so that a pair is what most of its tracks make it, and the few wrong ones do not.
//
// Habits of the trade, or of the engineer, enter as weak prior odds: roles that sit well together and roles that are seldom
// parted. A few tracks outvote them.
//
// The unknown homes are sampled (Gibbs sampling, Geman and Geman, IEEE Trans. Pattern Anal. 6, 1984): each role in turn
// draws its homes given those of all others. What is counted over the samples is the probability that a track is on no
// home of its role.
type Model struct {
	pairs int
	units []Unit
	roles []int         // indices of the roles that can be sampled: those anybody may have
	mass  []float64     // expected number of tracks of each role
	holds [][]float64   // pairs x roles: expected number of tracks of the role on the pair
	at    [][2]int      // homes of each role; the second is -1 if there is one only
	stray float64       // share of the tracks that stand anywhere
	parts [][]float64   // units x roles: part of each, kept while homes are drawn; 0 for roles the unit cannot have
	own   *habits.Space // of the engineer, nil for the trade's
}

// Unit is a set of tracks that carry one performance and so have one role.
type Unit struct {
	On     []int     // pair of each member
	alone  []float64 // how much the place of each member says beside the places of the members before it
	Belief []float64 // over roles
	Free   float64   // probability that the unit belongs nowhere in particular
	place  int       // the pair of all members, -1 if they stand on several
}

// Odds of the model, chosen by experiment on sheets with planted mistakes (testdata/check).
const (
	strayPrior    = 1.5  // tracks out of place before any is looked at, as if seen ...
	strayPriorOf  = 10.0 // ... among so many
	strayMost     = 0.4
	togetherNats  = 9.0 // log odds against a role among roles it does not sit with
	bondNats      = 5.0 // log odds against a role apart from roles it is bound to
	secondNats    = 4.0 // log odds against a second home
	homeChains    = 12
	homeSweeps    = 40
	homeBurnIn    = 15
	homeHeat      = 5.0
	leastRoleMass = 0.05
	leastBelief   = 1e-6
	idleNats      = 1.5  // log odds against a pair that holds tracks and is nobody's home
	jointMoves    = 0.25 // part of the members of a unit on one pair, after the first, that got there with it
)

// New prepares the model for a number of pairs. own are the habits of the engineer, nil for those of the trade.
func New(units []Unit, pairs int, own *habits.Space) *Model {
	for i := range units {
		units[i].alone = make([]float64, len(units[i].On))
		for m, q := range units[i].On {
			units[i].alone[m] = 1
			if slices.Contains(units[i].On[:m], q) {
				units[i].alone[m] = 1 - jointMoves
			}
		}
		units[i].place = onePlace(units[i].On)
	}
	h := &Model{pairs: pairs, units: units, own: own, mass: make([]float64, len(trade.Roles)), at: make([][2]int, len(trade.Roles)), holds: make([][]float64, pairs), parts: make([][]float64, len(units))}
	for i := range h.parts {
		h.parts[i] = make([]float64, len(trade.Roles))
	}
	for q := range h.holds {
		h.holds[q] = make([]float64, len(trade.Roles))
	}
	for _, u := range units {
		for r, q := range u.Belief {
			h.mass[r] += (1 - u.Free) * q * float64(len(u.On))
			for _, p := range u.On {
				h.holds[p][r] += (1 - u.Free) * q
			}
		}
	}
	for r, m := range h.mass {
		h.at[r] = [2]int{0, -1}
		if m > leastRoleMass {
			h.roles = append(h.roles, r)
		}
	}
	return h
}

// onePlace is the pair on which all members stand, -1 for several.
func onePlace(on []int) int {
	for _, q := range on {
		if q != on[0] {
			return -1
		}
	}
	if len(on) == 0 {
		return -1
	}
	return on[0]
}

// Verdict is what the samples say of one member of a unit.
type Verdict struct {
	Stray  float64   // probability that it is on no home of its role
	Belong []float64 // per pair: probability that it is a stray whose home that pair is
}

// Judge samples the homes and returns a verdict for each member of each unit. Every chain starts elsewhere and cools
// down before it counts; chains that got stuck in less probable homes than the best count by that much less.
func (h *Model) Judge(seed uint64) [][]Verdict {
	var tallies []*tally
	best := math.Inf(-1)
	for chain := range uint64(homeChains) {
		rng := rand.New(rand.NewPCG(seed, chain))
		h.start(rng, chain == 0)
		t := newTally(h)
		learned := strayPrior / strayPriorOf
		h.stray = strayPrior / strayPriorOf
		for _, r := range h.roles {
			h.keepParts(r)
		}
		for sweep := range homeSweeps {
			heat := math.Max(1, homeHeat*(1-float64(sweep)/homeBurnIn))
			h.stray = strayPrior / strayPriorOf
			for _, k := range rng.Perm(len(h.roles)) {
				h.draw(h.roles[k], heat, rng)
			}
			now := newTally(h)
			h.stray = learned
			strays, tracks := h.count(now)
			learned = min(strayMost, (strayPrior+strays)/(strayPriorOf+tracks))
			if sweep >= homeBurnIn {
				t.add(now)
			}
		}
		tallies = append(tallies, t)
		best = math.Max(best, t.logp/t.samples)
	}
	sum := newTally(h)
	for _, t := range tallies {
		sum.addWeighted(t, math.Exp(t.logp/t.samples-best))
	}
	return sum.verdicts()
}

// start gives each role the pair that holds most of it, or a random one.
func (h *Model) start(rng *rand.Rand, most bool) {
	for _, r := range h.roles {
		held := make([]float64, h.pairs)
		for _, u := range h.units {
			for _, q := range u.On {
				held[q] += u.Belief[r]
			}
		}
		best := 0
		for q := range held {
			if !most {
				held[q] *= rng.ExpFloat64()
			}
			if held[q] > held[best] {
				best = q
			}
		}
		h.at[r] = [2]int{best, -1}
	}
}

// habit is the log prior odds of the homes of role r among those of the others.
func (h *Model) habit(r int) float64 { return h.company(r) - h.second(r) - h.idlers() }

// prior is the log prior odds of all homes; what two roles make of each other's company is half of either's.
func (h *Model) prior() float64 {
	s := -h.idlers()
	for _, r := range h.roles {
		s += h.company(r)/2 - h.second(r)
	}
	return s
}

func (h *Model) second(r int) float64 {
	if h.at[r][1] < 0 {
		return 0
	}
	return secondNats
}

func (h *Model) idlers() float64 {
	var s float64
	for q := range h.pairs {
		s += idleNats * h.idle(q)
	}
	return s
}

// company is how well role r sits among those it shares a pair with, and apart from those it is bound to.
func (h *Model) company(r int) float64 {
	var s float64
	for _, q := range h.at[r] {
		if q < 0 {
			continue
		}
		at := func(o int) bool { return o != r && h.lives(o, q) }
		var clash, mass float64
		for _, o := range h.roles {
			if o != r && h.lives(o, q) {
				clash += h.mass[o] * h.own.Together(r, o, at)
				mass += h.mass[o]
			}
		}
		if mass > 0 {
			s -= togetherNats * clash / mass
		}
		// the others mind the newcomer as much as it weighs among them
		for _, o := range h.roles {
			if o != r && h.lives(o, q) {
				s -= togetherNats * h.own.Together(r, o, at) * h.mass[r] / (mass + h.mass[r])
			}
		}
	}
	return s - bondNats*h.parted(r)
}

// parted is how much of what role r is bound to lives apart from it, for the bond that suffers most.
func (h *Model) parted(r int) float64 {
	var worst float64
	for _, b := range trade.BondsOf[r] {
		var away, all float64
		for _, o := range b.Others {
			all += h.mass[o]
			if !h.lives(o, h.at[r][0]) && !(h.at[r][1] >= 0 && h.lives(o, h.at[r][1])) {
				away += h.mass[o]
			}
		}
		if all > leastRoleMass {
			worst = max(worst, b.Strength*h.own.Held(r, b.Others)*away/max(1, all))
		}
	}
	return worst
}

// idle is 1 for a pair that holds tracks none of which is at home there, 0 for one where a track or more is.
func (h *Model) idle(q int) float64 {
	var at, all float64
	for _, r := range h.roles {
		all += h.holds[q][r]
		if h.lives(r, q) {
			at += h.holds[q][r]
		}
	}
	return max(0, min(1, all)-at)
}

func (h *Model) lives(r, q int) bool { return h.at[r][0] == q || h.at[r][1] == q }
