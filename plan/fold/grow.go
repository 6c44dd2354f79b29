package fold

import (
	"fmt"
	"slices"

	"foldout/cluster"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// Grow folds the session onto k pairs by splitting the pairs of an older sheet: no two tracks that were on different
// pairs come together, and a pair that need not be split stays as it is, number and name. Pairs are split along their
// buses where they hold several, then along kinds of track; each time the split that lowers the spread within pairs
// most. A bus that holds one kind of track is cut only if it is crowded; pairs may stay free. With Options.UseAll any bus is
// cut before a pair stays free. The part of a split pair that stays keeps its name if somebody gave it one.
//
// Tracks that the sheet does not know join the pair that holds their like. Sheets with more pairs in use than k are an
// error. The confidence of a grown grouping is the probability that the track is in place by the company it keeps.
func (s *Session) Grow(old *sheet.Sheet, k int) (*Grouping, error) {
	labels, names, err := s.GrowLabels(old, k)
	if err != nil {
		return nil, err
	}
	g, err := s.settled(labels, k, names)
	if err != nil {
		return nil, err
	}
	g.Free = []string{"free: no pair holds kinds of track that want to be apart (--use-all cuts what there is)"}
	if s.opt.UseAll {
		g.Free = []string{"free: nothing is left to be cut"}
	}
	return g, nil
}

// GrowLabels is Grow without the question how firm each place is: the pair of each live track, and the names of the pairs
// that stay as they are, "" for one to be named anew.
func (s *Session) GrowLabels(old *sheet.Sheet, k int) (labels []int, names []string, err error) {
	placed := s.Place(old.Manual())
	if n := len(old.Pairs); n > k {
		if old.PairsUsed() > k || slices.ContainsFunc(old.Pairs[k:], func(p sheet.Pair) bool { return len(p.Tracks) > 0 }) {
			return nil, nil, fmt.Errorf("the sheet uses %d of its %d pairs; it cannot grow onto %d", old.PairsUsed(), n, k)
		}
	}
	labels = placed.Labels
	if len(placed.Missing) == len(s.Live) {
		return nil, nil, fmt.Errorf("none of the sheet's tracks is among those of %s", s.Folder)
	}
	s.joinLike(labels, old)
	s.holdPins(labels)
	atoms := s.growAtoms(labels, placed.buses)
	least := leastSplit
	if s.opt.UseAll {
		least = 0
	}
	given := givenNames(old)
	names = make([]string, k)
	for q, p := range old.Pairs[:min(k, len(old.Pairs))] {
		if len(p.Tracks) > 0 {
			names[q] = p.Name
		}
	}
	for {
		free := s.freePair(labels, k)
		if free < 0 {
			break
		}
		from, moving, gain := -1, []int(nil), least
		for q := range k {
			m, g, err := s.bestSplit(labels, atoms, q)
			if err != nil {
				return nil, nil, err
			}
			if g > gain && !(s.holdsPin(labels, q, m, true) && s.holdsPin(labels, q, m, false)) {
				from, moving, gain = q, m, g
			}
		}
		if from < 0 {
			break
		}
		fewer := 2*len(moving) <= count(labels, from) // the larger part stays, or the one that is pinned there
		switch {
		case s.holdsPin(labels, from, moving, true):
			fewer = false
		case s.holdsPin(labels, from, moving, false):
			fewer = true
		}
		for p, l := range labels {
			if l == from && slices.Contains(moving, p) == fewer {
				labels[p] = free
			}
		}
		if names[free] = ""; !given[names[from]] {
			names[from] = ""
		}
	}
	return labels, names, s.togetherAgainstWill(labels)
}

// holdPins moves what is pinned to its pair, with what is tied to it.
func (s *Session) holdPins(labels []int) {
	for p, pair := range s.pins {
		labels[p] = pair
		for _, unit := range s.units {
			if slices.Contains(unit, p) {
				for _, o := range unit {
					labels[o] = pair
				}
			}
		}
	}
}

// holdsPin tells whether one of the tracks of pair q that are moving, or one of those that are not, is pinned.
func (s *Session) holdsPin(labels []int, q int, moving []int, among bool) bool {
	for p := range s.pins {
		if labels[p] == q && slices.Contains(moving, p) == among {
			return true
		}
	}
	return false
}

// leastSplit is the drop of the mean squared distance below which a split is not worth a pair (chosen).
const leastSplit = 1e-3

func count(labels []int, pair int) int {
	n := 0
	for _, l := range labels {
		if l == pair {
			n++
		}
	}
	return n
}

// freePair is the first pair without tracks, -1 for none.
func (s *Session) freePair(labels []int, k int) int {
	for q := range k {
		if !slices.Contains(labels, q) {
			return q
		}
	}
	return -1
}

// growAtoms numbers the sets of tracks that a split does not cut: a bus of a pair, or the kind of track within it,
// joined where ties run across. The same number on two pairs means nothing.
func (s *Session) growAtoms(labels []int, buses []string) [2][]int {
	var out [2][]int
	for level := range out {
		ids := map[string]int{}
		atom := make([]int, len(labels))
		for p := range labels {
			role, _ := s.Belief[s.Live[p]].Best()
			key := buses[p]
			if key == "" {
				key = s.Bus(p)
			}
			if level == 1 {
				key = trade.KindOf[role]
			}
			key = fmt.Sprintf("%d/%s", labels[p], key)
			if _, ok := ids[key]; !ok {
				ids[key] = len(ids)
			}
			atom[p] = ids[key]
		}
		for _, unit := range s.units {
			for _, p := range unit[1:] {
				if labels[p] == labels[unit[0]] && atom[p] != atom[unit[0]] {
					was, is := atom[p], atom[unit[0]]
					for o := range atom {
						if atom[o] == was {
							atom[o] = is
						}
					}
				}
			}
		}
		out[level] = atom
	}
	return out
}

// bestSplit finds which tracks of pair q to move to a new pair, and by how much that lowers the spread.
func (s *Session) bestSplit(labels []int, atoms [2][]int, q int) (moving []int, gain float64, err error) {
	for _, atom := range atoms {
		var kinds []int
		for p, l := range labels {
			if l == q && !slices.Contains(kinds, atom[p]) {
				kinds = append(kinds, atom[p])
			}
		}
		if len(kinds) < 2 {
			continue
		}
		return s.cutAlong(labels, atom, kinds, q)
	}
	return s.cutCrowd(labels, q)
}

// cutAlong tries all ways to part a few atoms, and for many those that single one out.
func (s *Session) cutAlong(labels, atom, kinds []int, q int) (moving []int, gain float64, err error) {
	before, err := s.Spread(labels)
	if err != nil {
		return nil, 0, err
	}
	const few = 8
	for set := 1; set < 1<<(min(len(kinds), few)-1); set++ {
		trial := slices.Clone(labels)
		var m []int
		for p, l := range labels {
			if i := slices.Index(kinds, atom[p]); l == q && i > 0 && i <= few && set&(1<<(i-1)) != 0 {
				trial[p] = slices.Max(labels) + 1
				m = append(m, p)
			}
		}
		after, err := s.Spread(trial)
		if err != nil {
			return nil, 0, err
		}
		if len(m) > 0 && before-after > gain {
			moving, gain = m, before-after
		}
	}
	return moving, gain, nil
}

// cutCrowd parts one kind of track that is too numerous for a pair.
func (s *Session) cutCrowd(labels []int, q int) ([]int, float64, error) {
	var on []int
	for p, l := range labels {
		if l == q {
			on = append(on, p)
		}
	}
	if len(on) <= crowded && !s.opt.UseAll || len(on) < 2 {
		return nil, 0, nil
	}
	at := map[int]int{}
	for i, p := range on {
		at[p] = i
	}
	only := make([]int, len(labels))
	for p := range only {
		only[p] = -1
	}
	for _, p := range on {
		only[p] = 0
	}
	x, _, weights := s.folded(only)
	var units [][]int
	for _, unit := range s.units {
		var u []int
		for _, p := range unit {
			if i, ok := at[p]; ok {
				u = append(u, i)
			}
		}
		if len(u) > 1 {
			units = append(units, u)
		}
	}
	before, err := s.Spread(labels)
	if err != nil {
		return nil, 0, err
	}
	res, err := cluster.KMeans(x, 2, cluster.Options{Weights: weights, MustLink: units, Restarts: restarts, Seed: s.opt.Seed})
	if err != nil {
		return nil, 0, err
	}
	trial := slices.Clone(labels)
	var moving []int
	for i, p := range on {
		if res.Labels[i] != res.Labels[0] {
			moving = append(moving, p)
			trial[p] = slices.Max(labels) + 1
		}
	}
	after, err := s.Spread(trial)
	return moving, before - after, err
}

// togetherAgainstWill is an error if labels bring together what was to be kept apart.
func (s *Session) togetherAgainstWill(labels []int) error {
	for _, x := range s.apart {
		if labels[x[0]] == labels[x[1]] {
			return fmt.Errorf("%s and %s were to be kept apart, but the older sheet has their like on one pair", s.Tracks[s.Live[x[0]]].Profile.File, s.Tracks[s.Live[x[1]]].Profile.File)
		}
	}
	return nil
}

// settled makes a Grouping of labels that were not found by Fold.
func (s *Session) settled(labels []int, k int, names []string) (*Grouping, error) {
	if err := s.togetherAgainstWill(labels); err != nil {
		return nil, err
	}
	g := s.ByHand(labels, k, names)
	s.Judge(g)
	return g, nil
}
