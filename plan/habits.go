package plan

// Habits of the trade (common practice, no source), as far as engineers agree on them: which roles may share a pair
// in a fold that somebody would sign, and which are seldom parted. Bass sits with the drums, with the guitars or
// alone; percussion with the drums or alone; the instruments in any company of their own; voices with voices.
var habitGroup = map[string]int{
	"kick": 0, "snare": 0, "tom": 0, "drums": 0, "room": 0, "hat": 0, "cymbal": 0, "overhead": 0,
	"percussion": 1, "bass": 2, "electric guitar": 3, "acoustic guitar": 3,
	"piano": 4, "organ": 4, "synth": 4, "strings": 5, "horns": 5,
	"lead vocal": 6, "backing vocal": 6,
}

// clash is symmetric: 0 sits well, 1 does not sit at all.
var clash = [7][7]float64{
	//        drums perc bass guit keys orch voices
	/* drums  */ {0, 0, 0, 1, 1, 1, 1},
	/* perc   */ {0, 0, 0.2, 1, 1, 1, 1},
	/* bass   */ {0, 0.2, 0, 0.1, 0.7, 0.8, 1},
	/* guit   */ {1, 1, 0.1, 0, 0, 0, 1},
	/* keys   */ {1, 1, 0.7, 0, 0, 0, 1},
	/* orch   */ {1, 1, 0.8, 0, 0, 0, 1},
	/* voices */ {1, 1, 1, 1, 1, 1, 0},
}

func habitTogether(r, s int) float64 { return clash[habitGroup[Roles[r]]][habitGroup[Roles[s]]] }

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
	{[]string{"strings", "horns"}, 0.2},
	{[]string{"electric guitar", "acoustic guitar"}, 0.3},
	{[]string{"lead vocal", "backing vocal"}, 0.3},
}

var bondTable = makeBonds()

func makeBonds() [][]float64 {
	t := make([][]float64, len(Roles))
	for r := range t {
		t[r] = make([]float64, len(Roles))
	}
	for _, b := range bonds {
		for _, x := range b.roles {
			for _, y := range b.roles {
				if x != y {
					r, s := roleIndex[x], roleIndex[y]
					t[r][s] = max(t[r][s], b.strength)
				}
			}
		}
	}
	return t
}

func habitBond(r, s int) float64 { return bondTable[r][s] }
