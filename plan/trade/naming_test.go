package trade

import (
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
)

// What a pair is called is common practice, no source.
func TestPairsAreNamedAfterWhatTheyHold(t *testing.T) {
	for _, c := range []struct {
		buses []string
		name  string
	}{
		{nil, "Free"},
		{[]string{"Bass"}, "Bass"},
		{[]string{"Drums", "Percussion"}, "Drums and percussion"},
		{[]string{"Drums", "Bass"}, "Rhythm"},
		{[]string{"Drums", "Percussion", "Bass"}, "Rhythm"},
		{[]string{"Electric guitars", "Acoustic guitars"}, "Guitars"},
		{[]string{"Keys", "Horns"}, "Keys and horns"},
		{[]string{"Lead vocals", "Backing vocals"}, "Vocals"},
		{[]string{"Electric guitars", "Keys"}, "Band"},
		{[]string{"Bass", "Lead vocals"}, "Bass and lead"},
	} {
		assert.Equal(t, c.name, nameOf(c.buses), "%v", c.buses)
	}
}

func TestNamesAreUniqueWithinASheet(t *testing.T) {
	names := NamePairs([][]string{{"Drums"}, {"Drums"}, {"Bass"}, nil})
	assert.Equal(t, []string{"Drums 1", "Drums 2", "Bass", "Free"}, names)
	assert.Equal(t, [][]string{{"Drums 1"}, {"Drums 2", "Bass"}}, DistinctBuses([][]string{{"Drums"}, {"Drums", "Bass"}}))
}

func TestEveryRoleHasAPlaceAndABus(t *testing.T) {
	assert.ElementsMatch(t, Roles, SheetOrder)
	for _, r := range Roles {
		assert.NotEmpty(t, KindOf[r], r)
		assert.NotEmpty(t, BusFor(r), r)
	}
}

func TestNamesKeptStayUnique(t *testing.T) {
	names := []string{"Drums", "Bass", "Drums 2"}
	KeepNames(names, []string{"", "Drums", ""})
	slices.Sort(names)
	assert.Len(t, slices.Compact(names), 3)
}
