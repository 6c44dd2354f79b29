package sheet

import (
	"strconv"
	"strings"
)

// Printable makes a name fit for terminals, labels and drawings: names of files may hold anything. Line breaks and tabs become
// blanks; control characters, marks of direction and what has no shape go; bytes that are no UTF-8 become the mark of
// what cannot be shown.
func Printable(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case r == '\u200d' || strconv.IsPrint(r): // the joiner of compound pictographs
			return r
		}
		return -1
	}, strings.ToValidUTF8(s, "\ufffd"))
}
