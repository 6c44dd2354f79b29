package roles

import (
	"math/rand/v2"
	"path/filepath"
	"slices"
	"sort"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
	"gonum.org/v1/gonum/stat"

	"foldout/plan/trade"
)

// filed is a name of an open list: its group and the families the list files it under, the widest first.
type filed struct {
	group    string
	families []string
}

// readFiled reads a list that has families. Names that could be of several groups say nothing here.
func readFiled(t *testing.T, file string) (names []filed) {
	for _, c := range readLines(t, file) {
		if groupRoles(c[2]) == nil {
			continue
		}
		families := strings.Split(c[0], " > ")
		if filepath.Base(file) == "musicxml.tsv" { // whose names are paths
			path := strings.Split(c[1], ".")
			families = path[:len(path)-1]
		}
		names = append(names, filed{c[2], families})
	}
	return names
}

// groupRoles are the roles of a group; the lists do not tell lead from backing voices.
func groupRoles(group string) []string {
	if group == "lead or backing" {
		return []string{"lead vocal", "backing vocal"}
	}
	return rolesOfGroup[group]
}

// apart is how far two names of one list are filed apart: 1 less the share of their families that they have in common.
func apart(a, b filed) float64 {
	common := 0
	for common < min(len(a.families), len(b.families)) && a.families[common] == b.families[common] {
		common++
	}
	return 1 - float64(common)/float64(max(len(a.families), len(b.families)))
}

// What open lists of instruments file together meets lower in the tree of the trade than what they file apart: the rank
// correlation (Spearman 1904) of the height at which two groups meet and of how far apart their names are filed, over all
// pairs of groups, mean of the lists that hold both. The lists are organological and know nothing of mixing, so full
// agreement is not to be had: they file bass guitars with guitars, and mallets with drums. That the agreement is none of
// chance is tested against trees with the groups shuffled.
func TestTheTreeAgreesWithTheFamiliesOfOpenLists(t *testing.T) {
	sum, lists := map[[2]string]float64{}, map[[2]string]float64{}
	groups := map[string]bool{}
	for _, list := range []string{"audioset.tsv", "general-midi.tsv", "medleydb.tsv", "musicbrainz.tsv", "musicxml.tsv"} {
		names := readFiled(t, filepath.Join("testdata", "opennames", list))
		require.NotEmpty(t, names, list)
		total, pairs := map[[2]string]float64{}, map[[2]string]float64{}
		for i, a := range names {
			groups[a.group] = true
			for _, b := range names[:i] {
				if a.group != b.group {
					key := [2]string{min(a.group, b.group), max(a.group, b.group)}
					total[key] += apart(a, b)
					pairs[key]++
				}
			}
		}
		for key, n := range pairs {
			sum[key] += total[key] / n
			lists[key]++
		}
	}
	order := make([]string, 0, len(groups))
	for g := range groups {
		order = append(order, g)
	}
	slices.Sort(order)
	var keys [][2]int
	var far []float64
	for i, g := range order {
		for k, h := range order[:i] {
			if n := lists[[2]string{h, g}]; n > 0 {
				keys = append(keys, [2]int{k, i})
				far = append(far, sum[[2]string{h, g}]/n)
			}
		}
	}
	heights := func(place []int) []float64 {
		out := make([]float64, len(keys))
		for n, key := range keys {
			out[n] = meeting(order[place[key[0]]], order[place[key[1]]])
		}
		return out
	}
	place := make([]int, len(order))
	for i := range place {
		place[i] = i
	}
	got := spearman(heights(place), far)
	t.Logf("rank correlation of heights and families over %d pairs of %d groups: %.2f", len(keys), len(order), got)

	rng := rand.New(rand.NewPCG(1, 1))
	const trees = 2000
	better := 0
	for range trees {
		rng.Shuffle(len(place), func(i, k int) { place[i], place[k] = place[k], place[i] })
		if spearman(heights(place), far) >= got {
			better++
		}
	}
	t.Logf("%d of %d shuffled trees agree as well", better, trees)
	assert.Positive(t, got)
	assert.Less(t, better, trees/20, "a tree with its groups shuffled agrees as well as often as one in twenty")
}

// meeting is the height at which two groups meet: the mean over their roles.
func meeting(g, h string) float64 {
	var heights []float64
	for _, r := range groupRoles(g) {
		for _, o := range groupRoles(h) {
			heights = append(heights, trade.TreeDistance(trade.RoleIndex[r], trade.RoleIndex[o]))
		}
	}
	return stat.Mean(heights, nil)
}

// spearman is the correlation of ranks, ties sharing theirs.
func spearman(x, y []float64) float64 { return stat.Correlation(ranks(x), ranks(y), nil) }

func ranks(x []float64) []float64 {
	sorted := slices.Clone(x)
	slices.Sort(sorted)
	out := make([]float64, len(x))
	for i, v := range x {
		first := sort.SearchFloat64s(sorted, v-1e-9)
		last := first
		for last < len(sorted) && sorted[last] <= v+1e-9 {
			last++
		}
		out[i] = float64(first+last-1) / 2
	}
	return out
}
