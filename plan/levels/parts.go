package levels

import (
	"fmt"
	"slices"
	"strings"

	"foldout/plan/stems"
)

// parts cuts sets of tracks into cells, tracks that are in the same sets, and says how each set that has tracks is summed
// from cells and from smaller sets: sums that fold and refold the same tracks have most of their parts in common. Sets are
// counted behind the cells.
func parts(mixes []stems.Mix) (cells [][]stems.Track, plan []step) {
	in := map[string][]int{} // the sets that a track is in
	tracks := map[string]stems.Track{}
	var order []string
	for n, m := range mixes {
		for _, t := range m.Tracks {
			k := t.Place()
			if _, known := tracks[k]; !known {
				order = append(order, k)
			}
			tracks[k] = t
			in[k] = append(in[k], n)
		}
	}
	at := map[string]int{}
	holds := make([][]int, len(mixes)) // the cells of each set
	for _, k := range order {
		where := strings.Trim(fmt.Sprint(in[k]), "[]")
		c, known := at[where]
		if !known {
			c = len(cells)
			at[where] = c
			cells = append(cells, nil)
			for _, n := range slices.Compact(in[k]) {
				holds[n] = append(holds[n], c)
			}
		}
		cells[c] = append(cells[c], tracks[k])
	}
	var done []int // sets that are there, the largest last
	bySize := make([]int, 0, len(mixes))
	for n := range mixes {
		if len(holds[n]) > 0 {
			bySize = append(bySize, n)
		}
	}
	slices.SortStableFunc(bySize, func(a, b int) int { return len(holds[a]) - len(holds[b]) })
	for _, n := range bySize {
		s := step{set: n}
		left := map[int]bool{}
		for _, c := range holds[n] {
			left[c] = true
		}
		for _, smaller := range slices.Backward(done) {
			if len(holds[smaller]) > 1 && !slices.ContainsFunc(holds[smaller], func(c int) bool { return !left[c] }) {
				s.from = append(s.from, len(cells)+smaller)
				for _, c := range holds[smaller] {
					delete(left, c)
				}
			}
		}
		for _, c := range holds[n] {
			if left[c] {
				s.from = append(s.from, c)
			}
		}
		plan, done = append(plan, s), append(done, n)
	}
	return cells, plan
}
