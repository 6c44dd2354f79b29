package fold

import (
	"slices"

	"gonum.org/v1/gonum/floats"

	"foldout/features/kinship"
	"foldout/plan/homes"
	"foldout/plan/trade"
)

// A track is called a misfit from this probability on, and worth a look from the lower one on. Chosen by experiment on
// sheets with planted mistakes (testdata/check).
const (
	MisfitFrom   = 0.4
	DoubtfulFrom = 0.2
)

// Prior probability that a track belongs nowhere in particular: a click, an effect, a noise.
const (
	freeNamed   = 0.01 // its name says what it is
	freeUnnamed = 0.02
	freeNoise   = 0.9 // its name says it is a click, a cue or the like
)

// Astray judges a manual fold: labels holds the pair of each live track, -1 for those on no pair, whose verdicts stay
// empty. Every track is judged by the company of the others, never by a fold of our own.
func (s *Session) Astray(labels []int, pairs int) []homes.Verdict {
	var units []homes.Unit
	var members [][]int
	add := func(positions []int) {
		u := homes.Unit{Belief: s.Belief[s.Live[positions[0]]], Free: 1}
		var m []int
		for _, p := range positions {
			if labels[p] < 0 {
				continue
			}
			u.On, m = append(u.On, labels[p]), append(m, p)
			u.Free = min(u.Free, s.belongsNowhere(s.Live[p]))
		}
		if len(m) > 0 {
			units, members = append(units, u), append(members, m)
		}
	}
	sums := s.sums()
	tied := make([]bool, len(s.Live))
	for _, unit := range s.units {
		var rest []int
		for _, p := range unit {
			if !sums[p] {
				tied[p] = true
				rest = append(rest, p)
			}
		}
		if len(rest) > 0 {
			add(rest)
		}
	}
	for p := range s.Live {
		if !tied[p] {
			add([]int{p})
			if last := len(units) - 1; sums[p] && last >= 0 && members[last][0] == p {
				units[last].Belief = s.ownAndShared(s.Live[p])
			}
		}
	}
	out := make([]homes.Verdict, len(s.Live))
	for i, v := range homes.New(units, pairs, s.habits).Judge(s.opt.Seed) {
		for k, p := range members[i] {
			out[p] = v[k]
		}
	}
	s.keepMajorities(out, labels, pairs)
	return out
}

// sureToGo is the mean certainty from which the most numerous kind on a pair may be told to go as well. Chosen by
// experiment (testdata/check).
const sureToGo = 0.8

// aHair parts what is only worth a look from a misfit; wide enough to outlive the rounding of 1 - (1 - x).
const aHair = 1e-9

// keepMajorities sees to it that no pair is lightly told to lose all it holds: then the most numerous kind on it, the
// least doubtful of equals, is what the pair is for, and is only worth a look, unless it surely belongs elsewhere, or
// others of another kind are told to come in its place: whoever makes room for them goes.
func (s *Session) keepMajorities(verdicts []homes.Verdict, labels []int, pairs int) {
	for q := range pairs {
		count := map[string]int{}
		doubt := map[string]float64{}
		settled := false
		for p, l := range labels {
			if l == q {
				count[s.Bus(p)]++
				doubt[s.Bus(p)] += verdicts[p].Stray
				settled = settled || verdicts[p].Stray < MisfitFrom
			}
		}
		if settled {
			continue
		}
		keep := ""
		for _, role := range trade.Roles {
			b := trade.BusFor(role)
			if count[b] > count[keep] || count[b] > 0 && count[b] == count[keep] && doubt[b] < doubt[keep] {
				keep = b
			}
		}
		if doubt[keep] >= sureToGo*float64(count[keep]) || s.wanted(verdicts, labels, q, keep) {
			continue
		}
		for p, l := range labels {
			if l == q && s.Bus(p) == keep {
				verdicts[p].Stray = MisfitFrom - aHair
			}
		}
	}
}

// wanted tells whether a misfit of another kind than keep is told to move to pair q.
func (s *Session) wanted(verdicts []homes.Verdict, labels []int, q int, keep string) bool {
	for p, v := range verdicts {
		if labels[p] >= 0 && labels[p] != q && v.Stray >= MisfitFrom && s.Bus(p) != keep && floats.MaxIdx(v.Belong) == q {
			return true
		}
	}
	return false
}

// sums tells which live tracks are sums of several others, such as a crushed drum bus. A sum follows the part it holds
// most of, but is as much at home with any other.
func (s *Session) sums() map[int]bool {
	out := map[int]bool{}
	for p, i := range s.Live {
		for _, t := range s.Ties {
			if !t.ByUser && t.A == i && t.Relation.Kind == kinship.Sum {
				out[p] = true
			}
		}
	}
	return out
}

// ownAndShared is the middle between what a track is by itself and what it is with its kin.
func (s *Session) ownAndShared(i int) Belief {
	own := slices.Clone(s.own(i))
	for r := range own {
		own[r] += s.Belief[i][r]
	}
	return own.normalise()
}

func (s *Session) belongsNowhere(i int) float64 {
	h := s.Hints[i]
	if h.Noise {
		return freeNoise
	}
	return freeNamed*h.Known() + freeUnnamed*(1-h.Known())
}
