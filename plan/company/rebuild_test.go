package company_test

import (
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/testdata/rolemodel/lab"
)

// The table is what the kept sessions and the recipe give, byte for byte; and company helps the sessions of a maker that the
// weights were fitted without.
func TestTheTableIsRebuiltFromTheKeptSessions(t *testing.T) {
	members, err := lab.ReadMembers("../../testdata/rolemodel/vectors/company.gz")
	require.NoError(t, err)
	var train, others, apart [][]lab.Member
	for _, s := range lab.Sessions(members) {
		if lab.Held(s[0].Session) {
			continue
		}
		train = append(train, s)
		if lab.Maker(s) == "x" {
			apart = append(apart, s)
		} else {
			others = append(others, s)
		}
	}
	m, err := lab.FitCompany(train)
	require.NoError(t, err)
	table, err := os.ReadFile("company.csv")
	require.NoError(t, err)
	assert.Equal(t, string(table), m.Table(), "run go run ./testdata/rolemodel/train -company")

	m, err = lab.FitCompany(others)
	require.NoError(t, err)
	var right, before, voices int
	for _, s := range apart {
		alone := lab.Tell(s, lab.EarsAlone)
		for i, told := range lab.Tell(s, m) {
			voices++
			if told.Right() {
				right++
			}
			if alone[i].Right() {
				before++
			}
		}
	}
	require.Greater(t, voices, 50)
	assert.Greater(t, right, before)
}
