package fold

import (
	"slices"

	"foldout/plan/trade"
)

// PairNames names the pairs of any fold by the kinds that make up most of their tracks.
func (s *Session) PairNames(labels []int, pairs int) []string {
	buses := make([][]string, pairs)
	for q := range buses {
		count := map[string]int{}
		most := 0
		for p, l := range labels {
			if l == q {
				count[s.Bus(p)]++
				most = max(most, count[s.Bus(p)])
			}
		}
		for _, role := range trade.Roles {
			b := trade.BusFor(role)
			if count[b] > 0 && minorShare*count[b] >= most && !slices.Contains(buses[q], b) {
				buses[q] = append(buses[q], b)
			}
		}
	}
	return trade.NamePairs(buses)
}

// minorShare: a kind with less than one track to so many of the pair's largest kind does not enter the pair's name.
const minorShare = 6
