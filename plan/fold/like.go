package fold

import (
	"fmt"
	"math"
	"slices"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// Like folds the session onto the pairs of another song's sheet, so that an album keeps its patch: every track goes to
// the pair that holds its like there, pairs keep their numbers and names, and those without a like stay free.
// Tracks with the name of one of that sheet's go where it is, unless they are clearly something else. Pins of the
// session's options are obeyed.
func (s *Session) Like(other *sheet.Sheet) (*Grouping, error) {
	if other.PairsUsed() == 0 {
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
	g, err := s.settled(labels, len(other.Pairs), names)
	if err != nil {
		return nil, err
	}
	g.Free = []string{"free: nothing here is like what it holds in the other song"}
	return g, nil
}

// likeReach is the squared distance in the tree of roles at which one role's place says e times less about another's
// (chosen).
const likeReach = 0.3

// sameName is how many tracks of its role one track of the same name counts for.
const sameName = 3

// joinLike gives every live track without a pair (-1) the pair of the sheet that holds its like. Tracks tied together go
// together, to where any of them already is.
func (s *Session) joinLike(labels []int, doc *sheet.Sheet) {
	votes := s.roleVotes(doc)
	var files []string
	var at []int
	for q, pair := range doc.Pairs {
		for _, t := range pair.Tracks {
			files, at = append(files, t.File), append(at, q)
		}
	}
	find := sheet.NewFinder(files)
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
				if hits := find.All(s.Tracks[s.Live[p]].Profile.File); len(hits) == 1 {
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
			if votes[q][trade.RoleIndex[role]] > math.Exp(-1) {
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
func (s *Session) roleVotes(sheet *sheet.Sheet) [][]float64 {
	votes := make([][]float64, len(sheet.Pairs))
	for q, pair := range sheet.Pairs {
		votes[q] = make([]float64, len(trade.Roles))
		for _, t := range pair.Tracks {
			o, ok := trade.RoleIndex[t.Role]
			if !ok {
				continue
			}
			for r := range trade.Roles {
				votes[q][r] += math.Exp(-s.habits.Height(r, o) / likeReach)
			}
		}
	}
	return votes
}
