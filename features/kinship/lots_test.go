package kinship

import (
	"testing"

	"github.com/stretchr/testify/assert"
)

// However many tracks there are, a lot holds the pairs of two tiles at most, so that what is measured at once does not grow with
// their square; and every pair is in one lot.
func TestLotsOfPairsStaySmall(t *testing.T) {
	for _, tracks := range []int{2, 2 * tileOfAll, 2*tileOfAll + 1, 500} {
		var pairs [][2]int
		for i := range tracks {
			for j := i + 1; j < tracks; j++ {
				pairs = append(pairs, [2]int{i, j})
			}
		}
		seen := make([]int, len(pairs))
		inLots(pairs, tileOfAll, func(at []int, part [][2]int) {
			inside := map[int]bool{}
			for k, i := range at {
				seen[i]++
				assert.Equal(t, pairs[i], part[k])
				inside[part[k][0]], inside[part[k][1]] = true, true
			}
			assert.LessOrEqual(t, len(inside), 2*tileOfAll, "of %d tracks", tracks)
		})
		for i, n := range seen {
			if n != 1 {
				t.Fatalf("pair %v of %d tracks is in %d lots", pairs[i], tracks, n)
			}
		}
	}
}
