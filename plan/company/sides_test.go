package company_test

import (
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/kinship"
	"foldout/plan/company"
	"foldout/plan/trade"
	"foldout/testdata/kinship/sides/fit"
)

// The table of sides is what the kept sessions give, byte for byte; and company finds more sides than the waveforms alone in the
// sessions of every maker that the weights were fitted without, nearly all of them true.
func TestTheTableOfSidesIsRebuilt(t *testing.T) {
	all, err := fit.Read("../../testdata/kinship/sides.gz")
	require.NoError(t, err)
	m, err := fit.Fit(all)
	require.NoError(t, err)
	table, err := os.ReadFile("sides.csv")
	require.NoError(t, err)
	assert.Equal(t, string(table), m.Table(), "run go run ./testdata/kinship/sides")
	require.Equal(t, []string{"b", "e", "t", "x"}, fit.Makers(all))
	var found, right int
	for _, maker := range fit.Makers(all) {
		train, apart := fit.Without(maker, all)
		m, err := fit.Fit(train)
		require.NoError(t, err)
		c := fit.Found(m, apart)
		assert.Greater(t, c.True, c.BeforeTrue, maker)
		found, right = found+c.Found, right+c.True
	}
	assert.Greater(t, float64(right), 0.9*float64(found))
}

// Every track has at most one other side: where a third is as near, none is told.
func TestSidesCompete(t *testing.T) {
	guitar := make([]float64, len(trade.Roles))
	guitar[trade.RoleIndex["electric guitar"]] = 1
	voice := make([]float64, len(trade.Roles))
	voice[trade.RoleIndex["backing vocal"]] = 1
	track := func(belief []float64, level float64, sounds ...bool) company.Side {
		s := company.Side{Mono: true, Belief: belief}
		s.LevelDB, s.Sounds = level, sounds
		return s
	}
	on := []bool{true, true, true, false}
	double := func(a, b int) company.Said { return company.Said{Double: 0.98} }
	two := []company.Side{track(guitar, -20, on...), track(guitar, -20.5, on...)}
	found := company.FindSides(two, double)
	require.Len(t, found, 1)
	assert.GreaterOrEqual(t, found[0].Probability, kinship.Binds)
	assert.Equal(t, "sound together throughout, 0.5 dB and in no octave more than 0.0 dB apart", found[0].Text())

	assert.Empty(t, company.FindSides(append(two, track(guitar, -20.2, on...)), double), "three of one kind")
	assert.Empty(t, company.FindSides([]company.Side{two[0], track(guitar, -20, false, false, true, true)}, double), "one rests while the other plays")
	assert.Empty(t, company.FindSides([]company.Side{track(voice, -20, on...), track(voice, -20, on...)}, double), "any two voices of a stack may be panned apart")
	assert.Empty(t, company.FindSides([]company.Side{two[0], {Track: two[1].Track, Belief: guitar}}, double), "a stereo file is no side")
	assert.Empty(t, company.FindSides(nil, double))
	assert.InDelta(t, 0, company.SidesOdds(0), 0.01)
	assert.False(t, math.IsInf(company.SidesOdds(1), 0))
}

func TestATableOfSidesThatDoesNotFit(t *testing.T) {
	for _, text := range []string{"", "constant,1\n", "constant,x\n", "\"", (&company.SideModel{Weight: make([]float64, len(company.SideMeasures))}).Table() + "more,1\n"} {
		_, err := company.ParseSides(text)
		assert.ErrorContains(t, err, "table of sides")
	}
}
