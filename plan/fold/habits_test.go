package fold

import (
	"fmt"
	"math/rand/v2"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features"
	"foldout/plan/roles"
	"foldout/plan/trade"
	"foldout/testdata/underrace"
)

// pure makes a session of tracks whose roles are known for certain and whose measures are random.
func pure(t testing.TB, rng *rand.Rand, count map[string]int) *Session {
	t.Helper()
	s := &Session{pins: map[int]int{}}
	for _, role := range trade.Roles {
		for range count[role] {
			b := make(Belief, len(trade.Roles))
			b[trade.RoleIndex[role]] = 1
			p := features.Profile{File: fmt.Sprintf("%s %d.wav", role, len(s.Tracks)), CentroidHz: features.Positive(100 * (1 + 50*rng.Float64())),
				SpreadHz: features.Positive(100 * (1 + 30*rng.Float64())), CrestDB: features.DB(10 + 10*rng.Float64()), OnsetRateHz: 5 * rng.Float64(), Tonality: rng.Float64()}
			s.Live = append(s.Live, len(s.Tracks))
			s.Tracks = append(s.Tracks, &features.Analysis{Profile: p})
			s.Belief = append(s.Belief, b)
			s.Heard = append(s.Heard, b)
			s.Hints = append(s.Hints, roles.Hint{})
		}
	}
	require.NoError(t, s.layOut())
	return s
}

// drawCounts invents an instrumentation: how many tracks of each role.
func drawCounts(rng *rand.Rand) map[string]int {
	c := map[string]int{"kick": 1 + rng.IntN(4), "snare": 1 + rng.IntN(3), "tom": rng.IntN(4), "hat": 1, "overhead": rng.IntN(3), "bass": 1 + rng.IntN(4)}
	for _, x := range []struct {
		role string
		odds float64
		most int
	}{{"room", .6, 3}, {"percussion", .8, 5}, {"drums", .4, 2}, {"cymbal", .3, 2}, {"electric guitar", .85, 9}, {"acoustic guitar", .55, 4}, {"piano", .8, 4}, {"organ", .4, 2},
		{"synth", .6, 6}, {"strings", .4, 7}, {"horns", .45, 6}, {"lead vocal", .9, 4}, {"backing vocal", .75, 13}} {
		if rng.Float64() < x.odds {
			c[x.role] = 1 + rng.IntN(x.most)
		}
	}
	return c
}

// Which folds engineers use is common practice, no source: the drum kit stays together as long as pairs are few;
// percussion sits with the drums or alone; bass with the drums, with the guitars or alone; voices only with voices;
// guitars, keys, strings and horns part along these lines.
func TestTheTreeFoldsAsTheTradeDoes(t *testing.T) {
	underrace.Skip(t)
	rng := rand.New(rand.NewPCG(1, 2))
	for range 60 {
		count := drawCounts(rng)
		s := pure(t, rng, count)
		for _, k := range []int{4, 8} {
			g, err := s.Fold(k)
			require.NoError(t, err)
			groups := kindsOnPairs(s, g)
			assert.Empty(t, complain(groups, k), "%d pairs of %v: %v", k, count, groups)
		}
	}
}

// kindsOnPairs lists the kinds of track on each pair in use, sorted.
func kindsOnPairs(s *Session, g *Grouping) [][]string {
	on := make([][]string, g.Pairs)
	for p, l := range g.Labels {
		role, _ := s.Belief[s.Live[p]].Best()
		if kind := trade.KindOf[role]; !slices.Contains(on[l], kind) {
			on[l] = append(on[l], kind)
		}
	}
	var out [][]string
	for _, kinds := range on {
		if len(kinds) > 0 {
			slices.Sort(kinds)
			out = append(out, kinds)
		}
	}
	return out
}

// complain says what an engineer would object to in a fold, "" if nothing.
func complain(groups [][]string, k int) string {
	home := map[string]int{}
	for l, kinds := range groups {
		for _, kind := range kinds {
			if other, ok := home[kind]; ok && other != l {
				return kind + " on two pairs"
			}
			home[kind] = l
		}
	}
	family := map[string]string{"Drums": "drums", "Cymbals": "drums", "Drum room": "drums", "Percussion": "percussion", "Bass": "bass", "Electric guitars": "guitars",
		"Acoustic guitars": "guitars", "Keys": "keys", "Synths": "keys", "Strings": "orchestra", "Horns": "orchestra", "Lead vocals": "voices", "Backing vocals": "voices"}
	allowed := []string{"drums", "drums percussion", "percussion", "bass", "guitars", "keys", "orchestra", "voices"}
	if k == 4 {
		allowed = append(allowed, "bass drums", "bass drums percussion", "guitars keys", "keys orchestra", "guitars keys orchestra", "guitars orchestra",
			"bass guitars", "bass guitars keys", "bass guitars keys orchestra", "bass guitars orchestra")
	}
	families := map[string]bool{}
	for _, kinds := range groups {
		var fs []string
		for _, kind := range kinds {
			if f := family[kind]; !slices.Contains(fs, f) {
				fs = append(fs, f)
			}
			families[family[kind]] = true
		}
		slices.Sort(fs)
		if all := strings.Join(fs, " "); !slices.Contains(allowed, all) {
			return all + " share a pair"
		}
	}
	if k == 4 {
		for _, two := range [][2]string{{"Drums", "Cymbals"}, {"Drums", "Drum room"}, {"Electric guitars", "Acoustic guitars"}, {"Keys", "Synths"}, {"Strings", "Horns"}} {
			a, okA := home[two[0]]
			b, okB := home[two[1]]
			if okA && okB && a != b {
				return two[0] + " and " + two[1] + " apart"
			}
		}
	}
	if len(groups) < min(k, len(home)) && len(groups) < k && k == 8 {
		return "a pair stays free though kinds share"
	}
	return ""
}
