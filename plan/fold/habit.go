package fold

import (
	"slices"
	"strings"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// HabitReasons says for the tracks of a fold, by position in Live, which of the engineer's habits put them where common
// practice would not: their bus shares a pair with another bus, or does not, and the trade's own fold of the same tracks
// onto as many pairs has it otherwise. It is told of the bus with fewer tracks. Empty where the trade's habits are used.
func (s *Session) HabitReasons(labels []int, k int) (map[int]sheet.Reason, error) {
	out := map[int]sheet.Reason{}
	if s.habits == nil {
		return out, nil
	}
	common := *s
	common.habits = nil
	if err := common.layOut(); err != nil {
		return nil, err
	}
	usual, err := common.FoldLabels(k)
	if err != nil {
		return nil, err
	}
	buses, tracks := s.busTracks()
	for _, a := range buses {
		for _, b := range buses {
			if a == b || len(tracks[a]) > len(tracks[b]) || len(tracks[a]) == len(tracks[b]) && a > b {
				continue
			}
			if busHome(labels, tracks[a]) < 0 || busHome(labels, tracks[b]) < 0 {
				continue
			}
			here, there := busHome(labels, tracks[a]) == busHome(labels, tracks[b]), busHome(usual, tracks[a]) == busHome(usual, tracks[b])
			words, strength := s.habitBetween(a, b, here)
			if here == there || strength == 0 {
				continue
			}
			r := sheet.Reason{Measure: "habit", Value: sheet.Round(strength, 2), Fact: "your habit: " + words}
			r.Detail = "common practice: one pair with the " + strings.ToLower(b)
			if here {
				r.Detail = "common practice: apart from the " + strings.ToLower(b)
			}
			for _, p := range tracks[a] {
				if before, ok := out[p]; (!ok || before.Value < r.Value) && labels[p] == busHome(labels, tracks[a]) {
					out[p] = r
				}
			}
		}
	}
	return out, nil
}

// habitBetween says what the habits have between two buses, and by what ratio they move their height the way that a fold has
// it: down where the two share a pair, up where they do not. 0: they do not move it that way.
func (s *Session) habitBetween(a, b string, together bool) (words string, strength float64) {
	for _, h := range s.opt.Habits.Heights {
		two := h.Kinds
		if len(two) == 0 {
			two = []string{trade.KindOf[h.Roles[0]], trade.KindOf[h.Roles[1]]}
		}
		x, y := busOfKind(two[0]), busOfKind(two[1])
		if !(x == a && y == b || x == b && y == a) {
			continue
		}
		r, o := roleOfKind(two[0]), roleOfKind(two[1])
		if len(h.Roles) > 0 {
			r, o = trade.RoleIndex[h.Roles[0]], trade.RoleIndex[h.Roles[1]]
		}
		ratio := h.Height / trade.TreeDistance(r, o)
		if together {
			ratio = 1 / ratio
		}
		if ratio > 1 && (ratio > strength || words == "" && h.Words != "") {
			strength = max(strength, ratio)
			if h.Words != "" {
				words = h.Words
			}
		}
	}
	if words == "" {
		words = strings.ToLower(a) + " apart from the " + strings.ToLower(b)
		if together {
			words = strings.ToLower(a) + " with the " + strings.ToLower(b)
		}
	}
	return words, strength
}

// busTracks lists the buses of the live tracks, and the positions of the tracks on each.
func (s *Session) busTracks() (buses []string, tracks map[string][]int) {
	tracks = map[string][]int{}
	for p := range s.Live {
		b := s.Bus(p)
		if tracks[b] == nil {
			buses = append(buses, b)
		}
		tracks[b] = append(tracks[b], p)
	}
	return buses, tracks
}

// busHome is the pair that holds most of some tracks, the lowest of several; -1 where none is on a pair.
func busHome(labels, tracks []int) int {
	count := make([]int, slices.Max(labels)+2)
	for _, p := range tracks {
		if labels[p] >= 0 {
			count[labels[p]]++
		}
	}
	most := slices.Max(count)
	if most == 0 {
		return -1
	}
	return slices.Index(count, most)
}

func busOfKind(kind string) string { return trade.BusFor(trade.Roles[roleOfKind(kind)]) }

// roleOfKind is the first role of a kind.
func roleOfKind(kind string) int {
	return slices.IndexFunc(trade.Roles, func(r string) bool { return trade.KindOf[r] == kind })
}
