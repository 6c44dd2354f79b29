package habits

import (
	"fmt"
	"slices"
	"strings"

	"foldout/plan/trade"
)

// nameOf names the kind of a role, or the role.
func nameOf(r int, kind bool) string {
	if kind {
		return trade.KindOf[trade.Roles[r]]
	}
	return trade.Roles[r]
}

func known(two, names []string, what string) error {
	if len(two) != 2 {
		return fmt.Errorf("a height is between two %ss, not %d", what, len(two))
	}
	for _, n := range two {
		if !slices.Contains(names, n) {
			return fmt.Errorf("there is no %s %q; there are %s", what, n, strings.Join(names, ", "))
		}
	}
	return nil
}
