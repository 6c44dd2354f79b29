package roles

import (
	"bufio"
	"os"
	"path/filepath"
	"slices"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

// The roles that make up a group of the open lists.
var rolesOfGroup = map[string][]string{
	"drums":           {"kick", "snare", "tom", "drums", "room", "hat", "cymbal", "overhead"},
	"percussion":      {"percussion"},
	"bass":            {"bass"},
	"electric guitar": {"electric guitar"},
	"acoustic guitar": {"acoustic guitar"},
	"keys":            {"piano", "organ"},
	"synth":           {"synth"},
	"strings":         {"strings"},
	"horns/winds":     {"horns"},
	"lead":            {"lead vocal"},
	"backing":         {"backing vocal"},
}

// openName is one line of an open list: a name, the groups it may be read as, and how that is known.
type openName struct {
	name   string
	groups []string
	known  string // plain: the list's own family says it; name: only the name says it; open: neither does
}

func (o openName) readRight() bool {
	h := Parse([]string{strings.ReplaceAll(o.name, ".", " ")})[0]
	best, _ := h.Best()
	return slices.ContainsFunc(o.groups, func(g string) bool {
		return slices.Contains(rolesOfGroup[g], best) || g == "fx" && h.Noise
	})
}

// Instrument names of open data sets and standards, filed by people who never saw the word tables. Each file names its
// source, commit and licence. Every name whose group the list states, or the name itself says, is read right or stands
// in notmeant.txt with the reason why the trade files it elsewhere.
func TestInstrumentNamesOfOpenDataSets(t *testing.T) {
	files, err := filepath.Glob("testdata/opennames/*.tsv")
	require.NoError(t, err)
	require.Len(t, files, 6)
	notMeant := readNotMeant(t)
	used := map[string]bool{}
	plain, right := 0, 0
	for _, file := range files {
		for _, o := range readOpenNames(t, file) {
			if o.known == "open" {
				continue
			}
			ok := o.readRight()
			if o.known == "plain" {
				plain++
				if ok {
					right++
				}
			}
			key := strings.ToLower(o.name)
			if !ok && !notMeant[key] {
				assert.Fail(t, "misread", "%s: %q should be %v", filepath.Base(file), o.name, o.groups)
			}
			used[key] = used[key] || !ok
		}
	}
	for name := range notMeant {
		assert.True(t, used[name], "%q stands in notmeant.txt but is read as the lists file it", name)
	}
	t.Logf("%d of %d names with a plain group are read as filed; the others are listed with a reason", right, plain)
}

// The lists leave these open; nothing in them names an instrument, so nothing may be read into them.
func TestNamesThatSayNothing(t *testing.T) {
	for _, name := range []string{"Main System", "Unlabeled", "computer"} { // MedleyDB 1.0; MTG-Jamendo tags
		h := Parse([]string{name})[0]
		best, p := h.Best()
		assert.Less(t, p, 0.5, "%q is read as %s", name, best)
	}
}

func readOpenNames(t *testing.T, file string) []openName {
	var names []openName
	for _, c := range readLines(t, file) {
		require.Len(t, c, 4, "%s: %v", file, c)
		names = append(names, openName{c[1], strings.Split(c[2], " or "), c[3]})
	}
	return names
}

func readNotMeant(t *testing.T) map[string]bool {
	names := map[string]bool{}
	for _, c := range readLines(t, "testdata/opennames/notmeant.txt") {
		require.Len(t, c, 2)
		names[strings.ToLower(c[1])] = true
	}
	return names
}

// readLines returns the tab-separated columns of every line that is no comment.
func readLines(t *testing.T, path string) [][]string {
	f, err := os.Open(path)
	require.NoError(t, err)
	defer f.Close()
	var lines [][]string
	s := bufio.NewScanner(f)
	for s.Scan() {
		if !strings.HasPrefix(s.Text(), "#") {
			lines = append(lines, strings.Split(s.Text(), "\t"))
		}
	}
	require.NoError(t, s.Err())
	return lines
}
