package trade

// Habits of the trade (common practice, no source), as far as engineers agree on them: which roles may share a pair
// in a fold that somebody would sign, and which are seldom parted. Bass sits with the drums, with the guitars or
// alone; percussion with the drums or alone; the instruments in any company of their own; voices with voices.
var HabitGroup = map[string]int{
	"kick": 0, "snare": 0, "tom": 0, "drums": 0, "room": 0, "hat": 0, "cymbal": 0, "overhead": 0,
	"percussion": 1, "bass": 2, "electric guitar": 3, "acoustic guitar": 3,
	"piano": 4, "organ": 4, "synth": 4, "strings": 5, "horns": 5,
	"lead vocal": 6, "backing vocal": 6,
}

// clash is symmetric: 0 sits well, 1 does not sit at all. What lies between is common where one pair has to hold a whole
// band, and odd for a track or two.
var clash = [7][7]float64{
	//        drums perc bass guit keys orch voices
	/* drums  */ {0, 0, 0, 1, 1, 1, 1},
	/* perc   */ {0, 0, 0.7, 1, 1, 1, 1},
	/* bass   */ {0, 0.7, 0, 0.2, 0.8, 0.8, 1},
	/* guit   */ {1, 1, 0.2, 0, 0.4, 0.4, 1},
	/* keys   */ {1, 1, 0.8, 0.4, 0, 0.25, 1},
	/* orch   */ {1, 1, 0.8, 0.4, 0.25, 0, 1},
	/* voices */ {1, 1, 1, 1, 1, 1, 0},
}

// anchored are roles that sit together where a third is the host: room, cymbals, toms and percussion share a pair with
// the bass where the close drums do; keys and horns where guitars do.
type anchor struct {
	guest   string
	members []string
	hosts   []string
	without float64 // clash where no host is there
}

var anchors = []anchor{
	{"bass", []string{"room", "hat", "cymbal", "overhead", "tom", "percussion"}, []string{"kick", "snare", "drums"}, 0.7},
	{"bass", []string{"piano", "organ", "synth", "strings", "horns"}, []string{"electric guitar", "acoustic guitar"}, 0.8},
}

// HabitTogether is how badly two roles sit on one pair; at tells whether a role lives there.
func HabitTogether(r, s int, at func(role int) bool) float64 {
	k := anchorTable[r][s]
	if k == 0 {
		return clashTable[r][s]
	}
	for _, host := range hostTable[k-1] {
		if at(host) {
			return 0.1
		}
	}
	return anchors[k-1].without
}

// clashTable is clash by roles instead of groups.
var clashTable = func() [][]float64 {
	t := make([][]float64, len(Roles))
	for r := range t {
		t[r] = make([]float64, len(Roles))
		for s := range t[r] {
			t[r][s] = clash[HabitGroup[Roles[r]]][HabitGroup[Roles[s]]]
		}
	}
	return t
}()

// hostTable lists the hosts of each anchor.
var hostTable = func() [][]int {
	t := make([][]int, len(anchors))
	for k, a := range anchors {
		for _, host := range a.hosts {
			t[k] = append(t[k], RoleIndex[host])
		}
	}
	return t
}()

// anchorTable holds 1 + the index of the anchor that two roles need, 0 for none.
var anchorTable = func() [][]int {
	t := make([][]int, len(Roles))
	for r := range t {
		t[r] = make([]int, len(Roles))
	}
	for k, a := range anchors {
		for _, m := range a.members {
			g, i := RoleIndex[a.guest], RoleIndex[m]
			t[g][i], t[i][g] = k+1, k+1
		}
	}
	return t
}()

// bonds lists which roles are seldom parted, 1 almost never.
var bonds = []struct {
	roles    []string
	strength float64
}{
	{[]string{"kick", "snare", "tom", "drums"}, 1},
	{[]string{"hat", "cymbal", "overhead"}, 0.9},
	{[]string{"kick", "snare", "tom", "drums", "hat", "cymbal", "overhead", "room"}, 0.4},
	{[]string{"piano", "organ"}, 0.8},
	{[]string{"piano", "organ", "synth"}, 0.3},
	{[]string{"strings", "horns"}, 0.4},
	{[]string{"electric guitar", "acoustic guitar"}, 0.5},
	{[]string{"lead vocal", "backing vocal"}, 0.2},
}

// BondsOf lists for each role the other roles of every bond that it is in.
var BondsOf = func() [][]bound {
	out := make([][]bound, len(Roles))
	for _, b := range bonds {
		for _, x := range b.roles {
			o := bound{Strength: b.strength}
			for _, y := range b.roles {
				if x != y {
					o.Others = append(o.Others, RoleIndex[y])
				}
			}
			out[RoleIndex[x]] = append(out[RoleIndex[x]], o)
		}
	}
	return out
}()

type bound struct {
	Others   []int
	Strength float64
}
