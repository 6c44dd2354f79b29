package plan

import (
	"fmt"
	"math"
	"slices"
)

// Like folds the session onto the pairs of another song's sheet, so that an album keeps its patch: every track goes to
// the pair that holds its like there, pairs keep their numbers and names, and those without a like stay free.
// Tracks with the name of one of that sheet's go where it is, unless they are clearly something else. Pins of the
// session's options are obeyed.
func (s *Session) Like(other *Sheet) (*Grouping, error) {
	if other.used() == 0 {
		return nil, fmt.Errorf("the sheet to follow has no tracks")
	}
	labels := make([]int, len(s.Live))
	for p := range labels {
		labels[p] = -1
	}
	s.joinLike(labels, other)
	names := make([]string, len(other.Pairs))
	for q, p := range other.Pairs {
		names[q] = p.Name
	}
	return s.settled(labels, len(other.Pairs), names)
}

// likeReach is the squared distance in the tree of roles at which one role's place says e times less about another's
// (chosen).
const likeReach = 0.3

// sameName is how many tracks of its role one track of the same name counts for.
const sameName = 3

// joinLike gives every live track without a pair (-1) the pair of the sheet that holds its like. Tracks tied together go
// together, to where any of them already is.
func (s *Session) joinLike(labels []int, sheet *Sheet) {
	votes := s.roleVotes(sheet)
	var files []string
	var at []int
	for q, pair := range sheet.Pairs {
		for _, t := range pair.Tracks {
			files, at = append(files, t.File), append(at, q)
		}
	}
	find := newFinder(files)
	seen := make([]bool, len(labels))
	units := slices.Clone(s.units)
	for _, unit := range units {
		for _, p := range unit {
			seen[p] = true
		}
	}
	for p := range labels {
		if !seen[p] {
			units = append(units, []int{p})
		}
	}
	for _, unit := range units {
		best := -1
		for _, p := range unit {
			if pin, ok := s.pins[p]; ok {
				best = pin
			} else if best < 0 && labels[p] >= 0 {
				best = labels[p]
			}
		}
		if best < 0 {
			best = s.homeOf(unit, votes, func(p int) int {
				if hits := find.all(s.Tracks[s.Live[p]].Profile.File); len(hits) == 1 {
					return at[hits[0]]
				}
				return -1
			})
		}
		for _, p := range unit {
			if pin, ok := s.pins[p]; ok {
				labels[p] = pin
			} else if labels[p] < 0 {
				labels[p] = best
			}
		}
	}
}

// homeOf finds the pair that most speaks for a unit.
func (s *Session) homeOf(unit []int, votes [][]float64, named func(p int) int) int {
	score := make([]float64, len(votes))
	for _, p := range unit {
		belief := s.Belief[s.Live[p]]
		for r, b := range belief {
			var all float64
			for q := range votes {
				all += votes[q][r]
			}
			for q := range votes {
				if all > 0 {
					score[q] += b * votes[q][r] / all
				}
			}
		}
		if q := named(p); q >= 0 {
			role, _ := belief.Best()
			if votes[q][roleIndex[role]] > math.Exp(-1) {
				score[q] += sameName
			}
		}
	}
	best := 0
	for q := range score {
		if score[q] > score[best] {
			best = q
		}
	}
	return best
}

// roleVotes says how much each pair of a sheet speaks for each role: the tracks on it, counted by how near their roles
// are in the tree.
func (s *Session) roleVotes(sheet *Sheet) [][]float64 {
	votes := make([][]float64, len(sheet.Pairs))
	for q, pair := range sheet.Pairs {
		votes[q] = make([]float64, len(Roles))
		for _, t := range pair.Tracks {
			o, ok := roleIndex[t.Role]
			if !ok {
				continue
			}
			for r := range Roles {
				votes[q][r] += math.Exp(-treeDistance(r, o) / likeReach)
			}
		}
	}
	return votes
}

// treeDistance is the squared distance of two pure roles: the height of the node of the tree where they meet.
func treeDistance(r, o int) float64 {
	var d float64
	for _, b := range branches {
		if slices.Contains(b.roles, r) != slices.Contains(b.roles, o) {
			d += b.scale * b.scale
		}
	}
	return d
}

// keepNames puts names kept from an older sheet in the place of new ones and numbers new ones that a kept one equals.
func keepNames(names, kept []string) {
	for q, n := range kept {
		if n != "" && q < len(names) {
			names[q] = n
		}
	}
	for q, base := range names {
		if q < len(kept) && kept[q] != "" {
			continue
		}
		for n := 2; slices.Index(names, names[q]) != q || slices.Contains(names[q+1:], names[q]); n++ {
			names[q] = fmt.Sprintf("%s %d", base, n)
		}
	}
}
