package fold

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"

	"foldout/plan/roles"
	"foldout/plan/trade"
)

func sure(role string, p float64) Belief {
	b := make(Belief, len(trade.Roles))
	for r := range b {
		b[r] = (1 - p) / float64(len(b)-1)
	}
	b[trade.RoleIndex[role]] = p
	return b
}

func TestAClearNameOverrulesAMistakenEarAndAnUnclearOneDoesNot(t *testing.T) {
	heard := sure("tom", 0.9)
	named := roles.Parse([]string{"01 Kick In.wav"})[0]
	role, _ := combine(named, heard).Best()
	assert.Equal(t, "kick", role)
	role, p := combine(roles.Hint{}, heard).Best()
	assert.Equal(t, "tom", role)
	assert.InDelta(t, 0.9, p, 0.1)
	// "Gtr" leaves open which guitar; the ears decide.
	gtr := roles.Parse([]string{"Gtr 3"})[0]
	role, _ = combine(gtr, sure("acoustic guitar", 0.9)).Best()
	assert.Equal(t, "acoustic guitar", role)
	role, _ = combine(gtr, sure("electric guitar", 0.6)).Best()
	assert.Equal(t, "electric guitar", role)
}

func TestBeliefsArePooledAsProbabilities(t *testing.T) {
	a, b := sure("bass", 0.9), sure("kick", 0.6)
	for _, p := range []Belief{pool([]Belief{a, b}, []float64{1, 1}), pool([]Belief{a, b}, []float64{1, 0})} {
		var sum float64
		for _, q := range p {
			assert.False(t, math.IsNaN(q))
			sum += q
		}
		assert.InDelta(t, 1, sum, 1e-12)
	}
	role, _ := pool([]Belief{a, b}, []float64{1, 1}).Best()
	assert.Equal(t, "bass", role, "the surer member leads")
}

func TestCertaintyRunsFromEvenSpreadToOneRole(t *testing.T) {
	even := make(Belief, len(trade.Roles)).normalise()
	assert.InDelta(t, 0, even.certainty(), 1e-12)
	one := make(Belief, len(trade.Roles))
	one[3] = 1
	assert.InDelta(t, 1, one.certainty(), 1e-12)
}

// The squared distance of two pure roles is the height of the node where they meet.
func TestDistancesAreTheHeightsOfTheTree(t *testing.T) {
	at := map[string]trade.Node{}
	for _, n := range trade.Tree {
		at[n.Name] = n
	}
	ancestors := func(role string) []string {
		var out []string
		for n := role; n != ""; n = at[n].Parent {
			out = append(out, n)
		}
		return out
	}
	for i, a := range trade.Roles {
		for _, b := range trade.Roles[:i] {
			var d2 float64
			for _, br := range trade.Branches {
				var qa, qb float64
				for _, r := range br.Roles {
					if trade.Roles[r] == a {
						qa = 1
					}
					if trade.Roles[r] == b {
						qb = 1
					}
				}
				d2 += br.Scale * br.Scale * (qa - qb) * (qa - qb)
			}
			meet := ""
			for _, x := range ancestors(a) {
				for _, y := range ancestors(b) {
					if x == y && meet == "" {
						meet = x
					}
				}
			}
			assert.InDelta(t, at[meet].Height, d2, 1e-12, "%s and %s meet in %s", a, b, meet)
		}
	}
}
