package fold

import (
	"fmt"
	"slices"
	"strings"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// leastFamily is the expected number of tracks from which a kind of track counts as a family: more likely there than not.
const leastFamily = 0.5

// families lists the kinds of track in the session, by bus, in the order of a sheet.
func (s *Session) families() []string {
	mass := map[string]float64{}
	for p, i := range s.Live {
		for r, q := range s.Belief[i] {
			if b := trade.BusFor(trade.Roles[r]); b == s.Bus(p) {
				mass[b] += q
			}
		}
	}
	out := []string{}
	for _, role := range trade.SheetOrder {
		if b := trade.BusFor(role); mass[b] >= leastFamily && !slices.Contains(out, b) {
			out = append(out, b)
		}
	}
	return out
}

// mixed is the share of the tracks that share their pair with another family.
func (s *Session) mixed(labels []int) float64 {
	known := s.families()
	on := map[int]map[string]bool{}
	for p, l := range labels {
		if b := s.Bus(p); slices.Contains(known, b) {
			if on[l] == nil {
				on[l] = map[string]bool{}
			}
			on[l][b] = true
		}
	}
	n := 0
	for _, l := range labels {
		if len(on[l]) > 1 {
			n++
		}
	}
	return float64(n) / float64(len(labels))
}

// nobodys is how badly two roles have to sit together for nobody to put them on one pair (trade.HabitTogether).
const nobodys = 0.8

// clashes tells whether some pair holds tracks that nobody would put on one pair.
func (s *Session) clashes(labels []int) bool {
	known := s.families()
	on := map[int]map[int]bool{}
	for p, l := range labels {
		role, _ := s.Belief[s.Live[p]].Best()
		if slices.Contains(known, s.Bus(p)) {
			if on[l] == nil {
				on[l] = map[int]bool{}
			}
			on[l][trade.RoleIndex[role]] = true
		}
	}
	for _, roles := range on {
		at := func(r int) bool { return roles[r] }
		for a := range roles {
			for b := range roles {
				if s.habits.Together(a, b, at) >= nobodys {
					return true
				}
			}
		}
	}
	return false
}

// advise says how many pairs an engineer would want for this session: one for each family, if there are so many; and
// how many keep apart at least what nobody puts on one pair.
func (s *Session) advise(w *sheet.Sweep, folds [][]int) {
	best := 0
	for i, p := range w.Points {
		if p.Mixed < w.Points[best].Mixed {
			best = i
		}
		if w.Enough == 0 && !s.clashes(folds[i]) {
			w.Enough = p.Pairs
		}
	}
	p := &w.Points[best]
	w.Recommend = p.Pairs
	families := strings.ToLower(strings.Join(w.Families, ", "))
	var text string
	switch {
	case len(w.Families) == 1:
		text = fmt.Sprintf("All tracks are of one family (%s); %s for it.", families, sheet.Plural(w.Recommend, "pair is enough", "pairs are enough"))
	case p.Mixed == 0:
		text = fmt.Sprintf("%s: the session has %d families (%s), and each gets a pair of its own.", sheet.Plural(w.Recommend, "pair", "pairs"), len(w.Families), families)
	default:
		text = fmt.Sprintf("The session has %d families (%s). %s, as many as were worth trying here, leave %.0f %% of the tracks on a pair with another family.",
			len(w.Families), families, sheet.Plural(w.Recommend, "pair", "pairs"), 100*p.Mixed)
	}
	text += fmt.Sprintf(" %.0f %% of the difference between tracks then lies between pairs, %.0f %% is left within.", 100*(1-p.SpreadPC), 100*p.SpreadPC)
	if least := at(w, w.Enough); least != nil && w.Enough < w.Recommend {
		text += fmt.Sprintf(" %s to keep apart what nobody puts on one pair (%s); %.0f %% is left within.",
			sheet.Plural(w.Enough, "pair is enough", "pairs are enough"), strings.Join(least.Names, ", "), 100*least.SpreadPC)
	}
	if next := at(w, w.Recommend+1); next != nil && p.Mixed == 0 {
		if next.Used <= p.Used {
			text += " One more would stay free."
		} else {
			text += fmt.Sprintf(" One more would cut a family: %s.", next.Buys)
		}
	}
	w.Advice = text
}

func at(w *sheet.Sweep, pairs int) *sheet.SweepPoint {
	for i := range w.Points {
		if w.Points[i].Pairs == pairs {
			return &w.Points[i]
		}
	}
	return nil
}
