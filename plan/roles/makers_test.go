package roles

import (
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/plan/trade"
)

// makers are the names in the table of makers that are plainly names: one word of letters, five or more, and no word of
// the trade or of a language besides (dobro is "I double" in Portuguese).
func makers(t *testing.T) []string {
	t.Helper()
	table, err := os.ReadFile(filepath.Join("words", "makers.tsv"))
	require.NoError(t, err)
	require.True(t, strings.HasPrefix(string(table), "# recognised in track names, never suggested"))
	var list []string
	for _, line := range strings.Split(string(table), "\n") {
		row, ok := parseRow(line)
		if !ok {
			continue
		}
		for _, w := range row.words {
			if regexp.MustCompile(`^[a-z]{5,}$`).MatchString(w) && !slices.Contains([]string{"pbass", "jbass", "ubass", "minibass", "voxorgan", "dobro"}, w) {
				list = append(list, w)
			}
		}
	}
	require.Greater(t, len(list), 50)
	return list
}

// Names of makers and models live in one table: no other table knows them.
func TestMakersStandInOneTable(t *testing.T) {
	names := makers(t)
	files, err := filepath.Glob(filepath.Join("words", "*.tsv"))
	require.NoError(t, err)
	for _, path := range files {
		if filepath.Base(path) == "makers.tsv" {
			continue
		}
		table, err := os.ReadFile(path)
		require.NoError(t, err)
		for _, line := range strings.Split(string(table), "\n") {
			row, _ := parseRow(line)
			for _, phrase := range row.words {
				for _, w := range strings.Fields(phrase) {
					assert.NotContains(t, names, w, "%s: %s", path, phrase)
				}
			}
		}
	}
}

// What foldout writes itself, roles, buses, names of pairs and arguments, holds no maker's name.
func TestMakersAreNeverSuggested(t *testing.T) {
	names := makers(t)
	all := map[string]bool{}
	var buses [][]string
	for _, role := range trade.Roles {
		all[trade.BusFor(role)] = true
		buses = append(buses, []string{trade.BusFor(role)})
	}
	said := append(slices.Clone(trade.Roles), trade.NamePairs(buses)...)
	said = append(said, trade.Argument(all))
	for _, s := range said {
		for _, w := range regexp.MustCompile(`[a-z]+`).FindAllString(strings.ToLower(s), -1) {
			assert.NotContains(t, names, w, s)
		}
	}
}
