package habits

import (
	"cmp"
	"fmt"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// Report says what was learned, and how well it gives the sheets back.
type Report struct {
	Words  []string // one sentence for each habit, the plainest first
	Sheets []Match
}

// Match compares a sheet with folds of its roles onto as many pairs: the share of the couples of roles that share a pair in
// both, of those that do in either (Jaccard's index), 0..1.
type Match struct {
	Title         string
	Pairs         int
	Trade, Habits float64
}

// look folds the roles of the sheets by the trade's heights and by those learned, and says where the sheets differ from the trade.
func look(sheets []*observed, h *sheet.Habits) (*Report, error) {
	common, err := NewSpace(&sheet.Habits{})
	if err != nil {
		return nil, err
	}
	own, err := NewSpace(h)
	if err != nil {
		return nil, err
	}
	out := &Report{}
	var expected [][]int
	for _, o := range sheets {
		byTrade, err := o.fold(common)
		if err != nil {
			return nil, err
		}
		byHabit, err := o.fold(own)
		if err != nil {
			return nil, err
		}
		expected = append(expected, byTrade)
		out.Sheets = append(out.Sheets, Match{o.name, o.pairs, o.match(byTrade), o.match(byHabit)})
	}
	out.Words = words(sheets, expected, h)
	return out, nil
}

// fold puts the roles of a sheet onto as many pairs as it uses.
func (o *observed) fold(space *Space) ([]int, error) {
	roles := o.roles()
	x := mat.NewDense(len(roles), len(space.At[0]), nil)
	weights := make([]float64, len(roles))
	for i, r := range roles {
		x.SetRow(i, space.At[r])
		weights[i] = o.weight[r]
	}
	res, err := cluster.KMeans(x, o.pairs, cluster.Options{Weights: weights, Restarts: 50, Seed: 1})
	if err != nil {
		return nil, err
	}
	at := slices.Clone(o.at)
	for i, r := range roles {
		at[r] = res.Labels[i]
	}
	return at, nil
}

func (o *observed) match(at []int) float64 {
	var both, either float64
	roles := o.roles()
	for i, r := range roles {
		for _, s := range roles[i+1:] {
			a, b := o.at[r] == o.at[s], at[r] == at[s]
			if a && b {
				both++
			}
			if a || b {
				either++
			}
		}
	}
	if either == 0 {
		return 1
	}
	return both / either
}

// side is one side of a habit: a bus, a kind within a bus, or a role within a kind.
type side struct {
	name  string
	roles []int
}

// couples lists what habits are told of: buses; the kinds of the drum kit; the roles of one kind.
func couples() [][2]side {
	var out [][2]side
	group := func(name func(role string) string, within func(role string) bool) []side {
		var sides []side
		for r, role := range trade.Roles {
			if !within(role) {
				continue
			}
			n := strings.ToLower(name(role))
			k := slices.IndexFunc(sides, func(s side) bool { return s.name == n })
			if k < 0 {
				k, sides = len(sides), append(sides, side{name: n})
			}
			sides[k].roles = append(sides[k].roles, r)
		}
		return sides
	}
	all := func(sides []side) {
		for i, a := range sides {
			for _, b := range sides[i+1:] {
				out = append(out, [2]side{a, b})
			}
		}
	}
	all(group(trade.BusFor, func(string) bool { return true }))
	all(group(func(role string) string {
		if trade.KindOf[role] == "Drums" {
			return "close drums"
		}
		return trade.KindOf[role]
	}, func(role string) bool { return trade.BusFor(role) == "Drums" }))
	for _, k := range kinds() {
		all(group(func(role string) string { return role }, func(role string) bool { return trade.KindOf[role] == k }))
	}
	return out
}

// home is the pair that holds most of a side, -1 where the sheet lacks it.
func (o *observed) home(s side, at []int) int {
	weight := make([]float64, o.pairs)
	for _, r := range s.roles {
		if at[r] >= 0 {
			weight[at[r]] += o.weight[r]
		}
	}
	best := slices.Index(weight, slices.Max(weight))
	if weight[best] == 0 {
		return -1
	}
	return best
}

// leastTold is the number of sheets that make a habit worth telling, where there are so many.
const leastTold = 2

// words tells the habits: what most sheets do otherwise than the trade would. It notes the words with the heights they are about.
func words(sheets []*observed, expected [][]int, h *sheet.Habits) []string {
	type told struct {
		text string
		odd  int // sheets in which the trade would have done otherwise
	}
	var list []told
	for _, two := range couples() {
		if tracks(sheets, two[0]) > tracks(sheets, two[1]) {
			two[0], two[1] = two[1], two[0]
		}
		var together, apart []int // pairs of the sheets
		odd := 0
		for n, o := range sheets {
			a, b := o.home(two[0], o.at), o.home(two[1], o.at)
			if a < 0 || b < 0 {
				continue
			}
			byTrade := o.home(two[0], expected[n]) == o.home(two[1], expected[n])
			if a == b {
				together = append(together, o.pairs)
			} else {
				apart = append(apart, o.pairs)
			}
			if byTrade != (a == b) {
				odd++
			}
		}
		most := max(len(together), len(apart))
		if odd == 0 || 2*odd < most || most < min(leastTold, len(sheets)) {
			continue
		}
		text := sentence(two, together, apart)
		list = append(list, told{text, odd})
		note(h, two, text)
	}
	slices.SortStableFunc(list, func(a, b told) int { return cmp.Compare(b.odd, a.odd) })
	var out []string
	for _, t := range list {
		out = append(out, t.text)
	}
	return out
}

// tracks counts those of a side in all sheets.
func tracks(sheets []*observed, s side) int {
	n := 0
	for _, o := range sheets {
		for _, r := range s.roles {
			n += o.tracks[r]
		}
	}
	return n
}

// sentence says what was seen in most sheets: apart from so many pairs on, or together up to so many. The numbers are the
// pairs of the sheets in which the two are together and apart. The one with fewer tracks is the subject.
func sentence(two [2]side, together, apart []int) string {
	a, b := two[0].name, two[1].name
	if len(apart) >= len(together) {
		from, all := slices.Min(apart), len(apart)
		for _, k := range together {
			if k >= from {
				all++
			}
		}
		return fmt.Sprintf("%s %s the %s from %s on: %d of %s", a, verb(a, "leave"), b, sheet.Plural(from, "pair", "pairs"), len(apart), sheet.Plural(all, "sheet", "sheets"))
	}
	to, all := slices.Max(together), len(together)
	for _, k := range apart {
		if k <= to {
			all++
		}
	}
	return fmt.Sprintf("%s %s a pair with the %s up to %s: %d of %s", a, verb(a, "share"), b, sheet.Plural(to, "pair", "pairs"), len(together), sheet.Plural(all, "sheet", "sheets"))
}

// verb puts the verb into the number of its subject.
func verb(subject, verb string) string {
	if subject == "bass" || !strings.HasSuffix(subject, "s") {
		return verb + "s"
	}
	return verb
}

// note puts the words at the height that is most about them.
func note(h *sheet.Habits, two [2]side, text string) {
	for i := range h.Heights {
		e := &h.Heights[i]
		if e.Words != "" || !about(e, two) {
			continue
		}
		e.Words = text
		return
	}
}

// about tells whether a height is between roles of the two sides.
func about(e *sheet.Height, two [2]side) bool {
	in := func(s side, name string) bool {
		return slices.ContainsFunc(s.roles, func(r int) bool {
			return trade.Roles[r] == name || len(e.Kinds) > 0 && trade.KindOf[trade.Roles[r]] == name
		})
	}
	names := e.Roles
	if len(e.Kinds) > 0 {
		names = e.Kinds
	}
	return in(two[0], names[0]) && in(two[1], names[1]) || in(two[0], names[1]) && in(two[1], names[0])
}
