package text

import (
	"fmt"
	"io"
	"strings"

	"foldout/plan/habits"
	"foldout/plan/sheet"
)

// Habits says what was learned, how well it gives the sheets back, and where the file is used by itself.
func Habits(w io.Writer, r *habits.Report, out, mine string) error {
	var b strings.Builder
	fmt.Fprintf(&b, "Learned from %s, the trade counting as one more:\n", sheet.Plural(len(r.Sheets), "sheet", "sheets"))
	for _, t := range r.Words {
		fmt.Fprintf(&b, "  %s\n", t)
	}
	if len(r.Words) == 0 {
		fmt.Fprintln(&b, "  nothing: the sheets group as the trade does")
	}
	fmt.Fprintln(&b, "\nCouples of roles on one pair, the same in the sheet and in a fold of its roles:")
	for _, m := range r.Sheets {
		fmt.Fprintf(&b, "  %-24s %2d pairs: common practice %3.0f %%, your habits %3.0f %%\n", sheet.Printable(m.Title), m.Pairs, 100*m.Trade, 100*m.Habits)
	}
	if out != mine && mine != "" {
		fmt.Fprintf(&b, "\nWritten to %s. As %s it is used by itself.\n", sheet.Printable(out), sheet.Printable(mine))
	}
	_, err := io.WriteString(w, b.String())
	return err
}
