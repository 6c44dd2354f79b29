package habits

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// An engineer, invented: what is never cut, and what is joined first, second ... when the pairs run out.
type engineer struct {
	name  string
	parts [][]string // roles that are one part
	joins []string   // "bass+drums": two parts (named by their first role) joined, in this order
}

var kit = []string{"kick", "snare", "tom", "drums", "hat", "cymbal", "overhead", "room"}

func parts(first ...[]string) [][]string {
	out := slices.Clone(first)
	for _, rest := range [][]string{kit, {"percussion"}, {"bass"}, {"electric guitar"}, {"acoustic guitar"}, {"piano", "organ"}, {"synth"}, {"strings"}, {"horns"}, {"lead vocal"}, {"backing vocal"}} {
		var left []string
		for _, r := range rest {
			if !slices.ContainsFunc(first, func(p []string) bool { return slices.Contains(p, r) }) {
				left = append(left, r)
			}
		}
		if len(left) > 0 {
			out = append(out, left)
		}
	}
	return out
}

// The habits are common ones among engineers (common practice, no source).
var engineers = []engineer{
	{"bass on its own", parts(), []string{"keys", "orchestra", "guitars", "kit percussion", "keys orchestra", "voices", "guitars keys orchestra", "kit bass"}},
	{"percussion with the guitars", parts(), []string{"acoustic guitar,percussion", "electric guitar,percussion", "keys", "orchestra", "keys orchestra", "kit bass", "voices", "guitars keys orchestra"}},
	{"lead alone", parts(), []string{"keys", "orchestra", "kit percussion", "guitars", "keys orchestra", "guitars keys orchestra", "kit bass", "guitars keys orchestra backing vocal"}},
	{"keys, synths and strings are one bed", parts([]string{"piano", "organ", "synth", "strings"}), []string{"guitars", "kit percussion", "voices", "guitars horns", "kit bass", "guitars keys"}},
	{"shells with bass, metal with percussion", parts([]string{"kick", "snare", "tom", "drums"}, []string{"hat", "cymbal", "overhead", "room"}), []string{"hat,percussion", "kick,bass", "keys", "orchestra", "guitars", "voices", "keys orchestra", "guitars keys orchestra"}},
	{"voices never parted, bass with the guitars", parts([]string{"lead vocal", "backing vocal"}), []string{"keys", "orchestra", "kit percussion", "electric guitar,bass", "acoustic guitar,bass", "keys orchestra", "guitars", "guitars keys orchestra"}},
}

var sections = map[string][]string{
	"kit": kit, "percussion": {"percussion"}, "bass": {"bass"}, "guitars": {"electric guitar", "acoustic guitar"}, "keys": {"piano", "organ", "synth"},
	"orchestra": {"strings", "horns"}, "voices": {"lead vocal", "backing vocal"}, "horns": {"horns"},
}

// step lists the roles of a step: sections with spaces between, or roles with commas.
func step(text string) []string {
	if strings.Contains(text, ",") {
		return strings.Split(text, ",")
	}
	var out []string
	if rest, ok := strings.CutSuffix(text, " backing vocal"); ok {
		text, out = rest, []string{"backing vocal"}
	}
	for _, s := range strings.Fields(text) {
		out = append(sections[s], out...)
	}
	return out
}

// fold is the engineer's own grouping of tracks of these roles onto at most k pairs.
func (e *engineer) fold(roles map[string]int, k int) map[string]int {
	at := map[string]int{}
	pairs := 0
	for _, p := range e.parts {
		used := false
		for _, r := range p {
			if roles[r] > 0 {
				at[r], used = pairs, true
			}
		}
		if used {
			pairs++
		}
	}
	for _, j := range e.joins {
		list := step(j)
		for i := 1; i < len(list) && pairs > k; i++ {
			a, b := -1, -1
			for _, r := range list[:i] {
				if q, ok := at[r]; ok {
					a = q
				}
			}
			if q, ok := at[list[i]]; ok {
				b = q
			}
			if a >= 0 && b >= 0 && a != b {
				join(at, a, b)
				pairs--
			}
		}
	}
	for ; pairs > k; pairs-- { // whatever is left
		join(at, 0, pairs-1)
	}
	return at
}

// join puts pair b on pair a and closes the gap.
func join(at map[string]int, a, b int) {
	for r, q := range at {
		if q == b {
			at[r] = min(a, b)
		} else if q == a {
			at[r] = min(a, b)
		}
	}
	for r, q := range at {
		if q > max(a, b) {
			at[r] = q - 1
		}
	}
}

func (e *engineer) sheet(roles map[string]int, k int) *sheet.Sheet {
	at := make([]int, len(trade.Roles))
	for r, q := range e.fold(roles, k) {
		at[trade.RoleIndex[r]] = q
	}
	return written(roles, at, k)
}

// written is a sheet of roles on the pairs that at says.
func written(roles map[string]int, at []int, k int) *sheet.Sheet {
	doc := &sheet.Sheet{Pairs: make([]sheet.Pair, k)}
	for i, r := range trade.Roles {
		for n := range roles[r] {
			doc.Pairs[at[i]].Tracks = append(doc.Pairs[at[i]].Tracks, sheet.Placement{File: fmt.Sprint(r, n), Role: r})
		}
	}
	return doc
}

// drawRoles invents an instrumentation: how many tracks of each role.
func drawRoles(rng *rand.Rand) map[string]int {
	c := map[string]int{"kick": 1 + rng.IntN(3), "snare": 1 + rng.IntN(2), "hat": 1, "overhead": 1 + rng.IntN(2), "bass": 1 + rng.IntN(3), "percussion": 1 + rng.IntN(4), "lead vocal": 1 + rng.IntN(3)}
	for _, x := range []struct {
		role string
		most int
	}{{"tom", 3}, {"room", 2}, {"electric guitar", 6}, {"acoustic guitar", 3}, {"piano", 3}, {"organ", 2}, {"synth", 4}, {"strings", 5}, {"horns", 4}, {"backing vocal", 8}} {
		if rng.Float64() < 0.8 {
			c[x.role] = 1 + rng.IntN(x.most)
		}
	}
	return c
}

// shared counts the couples of tracks that share a pair in both folds, in the sheet, and in at.
type shared struct{ both, sheet, fold float64 }

func (c *shared) count(o *observed, at []int) {
	roles := o.roles()
	for i, r := range roles {
		for _, s := range roles[i:] {
			n := float64(o.tracks[r] * o.tracks[s])
			if r == s {
				n = float64(o.tracks[r]*(o.tracks[r]-1)) / 2
			}
			a, b := o.at[r] == o.at[s], at[r] == at[s]
			if a && b {
				c.both += n
			}
			if a {
				c.sheet += n
			}
			if b {
				c.fold += n
			}
		}
	}
}

// f1 is the harmonic mean of the part of the sheet's couples that the fold has, and of the fold's that the sheet has.
func (c *shared) f1() float64 { return 2 * c.both / (c.sheet + c.fold) }

func learn(t testing.TB, docs ...*sheet.Sheet) (*sheet.Habits, *Report, *Space) {
	t.Helper()
	h, report, err := Learn(docs, make([]string, len(docs)))
	require.NoError(t, err)
	space, err := NewSpace(h)
	require.NoError(t, err)
	return h, report, space
}

// Six invented engineers, three sheets each, folded by habits of their own; a fourth sheet is the test. The engineers never
// saw this program: their rules stand above.
func TestThreeSheetsTurnAHabit(t *testing.T) {
	common, err := NewSpace(&sheet.Habits{})
	require.NoError(t, err)
	for _, e := range engineers {
		rng := rand.New(rand.NewPCG(7, 8))
		var byTrade, byHabit, odd, among shared
		for range 6 {
			for _, k := range []int{4, 6} {
				docs := []*sheet.Sheet{e.sheet(drawRoles(rng), k), e.sheet(drawRoles(rng), k), e.sheet(drawRoles(rng), k)}
				_, _, own := learn(t, docs...)
				o, err := observe(e.sheet(drawRoles(rng), k))
				require.NoError(t, err)
				trades, err := o.fold(common)
				require.NoError(t, err)
				mine, err := o.fold(own)
				require.NoError(t, err)
				byTrade.count(o, trades)
				byHabit.count(o, mine)

				o.at = trades // what one sheet alone changes in the trade's fold
				_, _, one := learn(t, docs[0])
				at, err := o.fold(one)
				require.NoError(t, err)
				odd.count(o, at)

				// and among three sheets of the trade's own folds
				var usual []*sheet.Sheet
				for range 3 {
					roles := drawRoles(rng)
					u, err := observe(e.sheet(roles, k))
					require.NoError(t, err)
					at, err := u.fold(common)
					require.NoError(t, err)
					usual = append(usual, written(roles, at, k))
				}
				_, _, four := learn(t, append(usual, docs[0])...)
				at, err = o.fold(four)
				require.NoError(t, err)
				among.count(o, at)
			}
		}
		t.Logf("%-45s trade %.2f, three sheets %.2f; trade kept after one %.2f, among three %.2f", e.name, byTrade.f1(), byHabit.f1(), odd.f1(), among.f1())
		assert.GreaterOrEqual(t, byHabit.f1(), 0.9, e.name)
		assert.GreaterOrEqual(t, byHabit.both/byHabit.sheet, 0.9, e.name)
		assert.Less(t, byTrade.f1(), byHabit.f1()-0.04, e.name)
		assert.GreaterOrEqual(t, odd.f1(), 0.85, "a single sheet: %s", e.name)
		assert.GreaterOrEqual(t, among.f1(), 0.95, "an odd sheet among three: %s", e.name)
	}
}
