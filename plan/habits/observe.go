package habits

import (
	"fmt"
	"math"
	"slices"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// observed is what one sheet says: the pair on which each role has most of its tracks. Roles are indices into trade.Roles.
type observed struct {
	name   string
	pairs  int       // pairs in use
	at     []int     // pair of each role, 0..pairs-1; -1 for a role that the sheet lacks
	weight []float64 // of each role: every kind of track weighs one, shared by its roles as their tracks are many
	tracks []int     // of each role
}

// observe reads a sheet. Tracks that stand with another one because they are made from it (bound copies, sums and returns) say
// nothing of their own and are left out, as are roles that are not known.
func observe(doc *sheet.Sheet) (*observed, error) {
	o := &observed{name: doc.Title, at: make([]int, len(trade.Roles)), weight: make([]float64, len(trade.Roles)), tracks: make([]int, len(trade.Roles))}
	pairOf := map[string]int{}
	for q, p := range doc.Pairs {
		for _, t := range p.Tracks {
			pairOf[t.File] = q
		}
	}
	follows := map[string]bool{}
	for _, r := range doc.Relations {
		if r.Binding && pairOf[r.A] == pairOf[r.B] && (r.Kind == "processed" || r.Kind == "sum" || r.Kind == "return") {
			follows[r.A] = true
		}
	}
	on := make([][]int, len(trade.Roles)) // tracks of a role on each pair
	for r := range on {
		on[r] = make([]int, len(doc.Pairs))
	}
	mass := map[string]float64{}
	for q, p := range doc.Pairs {
		for _, t := range p.Tracks {
			if r, known := trade.RoleIndex[t.Role]; known && !follows[t.File] {
				on[r][q]++
				o.tracks[r]++
				mass[trade.KindOf[t.Role]]++
			}
		}
	}
	number := map[int]int{}
	for r := range on {
		o.at[r] = -1
		if o.tracks[r] == 0 {
			continue
		}
		home := slices.Index(on[r], slices.Max(on[r]))
		if _, ok := number[home]; !ok {
			number[home] = len(number)
		}
		o.at[r] = number[home]
		o.weight[r] = float64(o.tracks[r]) / math.Max(1, mass[trade.KindOf[trade.Roles[r]]])
	}
	o.pairs = len(number)
	if o.pairs < 2 {
		return nil, fmt.Errorf("the sheet has tracks of known roles on %s; habits show where there is a choice", sheet.Plural(o.pairs, "pair", "pairs"))
	}
	return o, nil
}

// roles are the roles that the sheet has.
func (o *observed) roles() []int {
	var out []int
	for r, q := range o.at {
		if q >= 0 {
			out = append(out, r)
		}
	}
	return out
}

// neighbours lists the folds onto as many pairs that are one step away: a role, the roles of a kind or of a bus on one
// pair moved to another; or two pairs joined and such a set given the pair that became free. The sheet's own fold is the
// first of the list. Folds are pairs by role, as in observed.at.
func (o *observed) neighbours() [][]int {
	out := [][]int{slices.Clone(o.at)}
	seen := map[string]bool{o.key(o.at): true}
	add := func(at []int) {
		if o.used(at) != o.pairs {
			return
		}
		if k := o.key(at); !seen[k] {
			seen[k] = true
			out = append(out, at)
		}
	}
	sets := o.sets(o.at)
	for _, set := range sets {
		for q := range o.pairs {
			add(moved(o.at, set, q))
		}
	}
	for a := range o.pairs {
		for b := a + 1; b < o.pairs; b++ {
			joined := slices.Clone(o.at)
			for r, q := range joined {
				if q == b {
					joined[r] = a
				}
			}
			for _, set := range sets {
				add(moved(joined, set, b))
			}
		}
	}
	return out
}

func moved(at, set []int, to int) []int {
	out := slices.Clone(at)
	for _, r := range set {
		out[r] = to
	}
	return out
}

// sets lists what may move as one: each role, and the roles of each kind and each bus on one pair.
func (o *observed) sets(at []int) [][]int {
	var out [][]int
	for _, name := range []func(r int) string{
		func(r int) string { return trade.Roles[r] },
		func(r int) string { return trade.KindOf[trade.Roles[r]] },
		func(r int) string { return trade.BusFor(trade.Roles[r]) },
	} {
		at0 := map[string]int{}
		var level [][]int
		for r, q := range at {
			if q < 0 {
				continue
			}
			key := fmt.Sprint(name(r), "/", q)
			if _, ok := at0[key]; !ok {
				at0[key] = len(level)
				level = append(level, nil)
			}
			level[at0[key]] = append(level[at0[key]], r)
		}
		for _, set := range level {
			if !slices.ContainsFunc(out, func(s []int) bool { return slices.Equal(s, set) }) {
				out = append(out, set)
			}
		}
	}
	return out
}

func (o *observed) used(at []int) int {
	on := map[int]bool{}
	for _, q := range at {
		if q >= 0 {
			on[q] = true
		}
	}
	return len(on)
}

// key is the same for folds that differ in the numbers of their pairs alone.
func (o *observed) key(at []int) string {
	number := map[int]byte{}
	key := make([]byte, len(at))
	for r, q := range at {
		if q < 0 {
			continue
		}
		if _, ok := number[q]; !ok {
			number[q] = byte(len(number) + 1)
		}
		key[r] = number[q]
	}
	return string(key)
}

// shares gives for each two roles that share a pair in a fold how much their squared distance adds to its spread:
// the product of their weights over the weight of the pair.
func (o *observed) shares(at []int) map[[2]int]float64 {
	total := map[int]float64{}
	for r, q := range at {
		if q >= 0 {
			total[q] += o.weight[r]
		}
	}
	out := map[[2]int]float64{}
	for r, q := range at {
		for s := r + 1; s < len(at); s++ {
			if q >= 0 && at[s] == q {
				out[[2]int{r, s}] = o.weight[r] * o.weight[s] / total[q]
			}
		}
	}
	return out
}
