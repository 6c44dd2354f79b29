package explain

import (
	"slices"

	"foldout/plan/trade"
)

// argument says why the buses of a pair share it, as the trade sees it.
func (e *explaining) argument(q int) string {
	text := trade.Argument(e.busesOf(q))
	if text != "" && len(e.habit) > 0 {
		text = "Common practice: " + text
	}
	return text
}

// habitsOf lists the engineer's habits that put some tracks where common practice would not, each once.
func (e *explaining) habitsOf(tracks []int) []string {
	var out []string
	for _, p := range tracks {
		if r, ok := e.habit[p]; ok {
			if text := sentence(r.Text()); !slices.Contains(out, text) {
				out = append(out, text)
			}
		}
	}
	return out
}
