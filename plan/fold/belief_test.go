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

// What the ears cannot tell apart is said so; the cases are invented.
func TestDoubtIsSaid(t *testing.T) {
	belief := func(share map[string]float64) Belief {
		b := make(Belief, len(trade.Roles))
		for role, p := range share {
			b[trade.RoleIndex[role]] = p
		}
		return b.normalise()
	}
	for name, c := range map[string]struct {
		share map[string]float64
		first string
		other string
		open  bool
	}{
		"two alike":             {map[string]float64{"synth": 0.4, "electric guitar": 0.35, "organ": 0.25}, "synth", "electric guitar", true},
		"one ahead":             {map[string]float64{"synth": 0.7, "electric guitar": 0.3}, "synth", "electric guitar", false},
		"one kind, two roles":   {map[string]float64{"kick": 0.4, "snare": 0.35, "bass": 0.25}, "kick", "bass", false},
		"many, none of them":    {map[string]float64{"synth": 0.3, "horns": 0.14, "strings": 0.14, "bass": 0.14, "room": 0.14, "hat": 0.14}, "synth", "hat", false},
		"equals, in role order": {map[string]float64{"strings": 0.45, "horns": 0.45, "bass": 0.1}, "strings", "horns", true},
	} {
		first, second, open := belief(c.share).doubt()
		assert.Equal(t, c.open, open, name)
		assert.Equal(t, c.first, first.role, name)
		if c.open {
			assert.Equal(t, c.other, second.role, name)
		}
	}
}

// A name that says which voice it is is not contradicted by an ear that hardly tells; nor by one that does not know. Invented.
func TestReasonsClaimNoMoreThanTheEarKnows(t *testing.T) {
	say := func(file string, heard Belief) string {
		hints := roles.Parse([]string{file})
		s := &Session{Hints: hints, Heard: []Belief{heard}, Own: []Belief{combine(hints[0], heard)}}
		r := s.RoleReason(0)
		return r.Fact + " " + r.Detail
	}
	assert.Equal(t, "backing vocal by name, a voice by ear 95 %", say("BV 3.wav", voices(0.6, 0.35)))
	assert.Equal(t, "backing vocal by name and ear 60 %", say("BV 3.wav", voices(0.35, 0.6)))
	torn := make(Belief, len(trade.Roles))
	torn[trade.RoleIndex["synth"]], torn[trade.RoleIndex["strings"]], torn[trade.RoleIndex["organ"]] = 0.45, 0.35, 0.2
	assert.Equal(t, `named "kick", by ear not sure: synth or strings `, say("Kick.wav", torn))
	assert.Equal(t, "not sure: synth or strings 45 % and 35 %", say("Audio 1.wav", torn))
}

func voices(lead, backing float64) Belief {
	b := make(Belief, len(trade.Roles))
	b[trade.RoleIndex["lead vocal"]], b[trade.RoleIndex["backing vocal"]] = lead, backing
	b[trade.RoleIndex["horns"]] = 1 - lead - backing
	return b
}
