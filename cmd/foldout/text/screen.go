// Package text holds every word and table for the terminal.
//
// The rule for talking to people: results go to the writer given, which is standard output or a file; what is amiss is
// said by Complain on standard error. Nothing that a file's name or a document holds reaches a terminal before printable or
// tame has taken control characters out. Lines are as wide as the terminal, between narrowest and widest columns, and
// break at blanks. Colour and weight carry nothing that is not also written.
package text

import (
	"fmt"
	"io"
	"os"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/mattn/go-runewidth"
	"github.com/muesli/reflow/wordwrap"
	"golang.org/x/term"
)

// Widths of the text output, in columns.
const (
	narrowest = 60
	widest    = 120
	inPipes   = 100
)

// screen describes where text goes: how wide it is and whether it may be coloured.
type screen struct {
	width int
	tty   bool
}

// screenOf looks at a writer. Pipes and files get no colour and a fixed width, or that of COLUMNS; NO_COLOR is obeyed.
func screenOf(w io.Writer) screen {
	s := screen{width: inPipes}
	if f, ok := w.(interface{ Fd() uintptr }); ok && term.IsTerminal(int(f.Fd())) {
		s.tty = os.Getenv("NO_COLOR") == "" && os.Getenv("TERM") != "dumb"
		if columns, _, err := term.GetSize(int(f.Fd())); err == nil {
			s.width = columns
		}
	} else if columns, err := strconv.Atoi(os.Getenv("COLUMNS")); err == nil && columns > 0 {
		s.width = columns
	}
	s.width = max(narrowest, min(widest, s.width))
	return s
}

func (s screen) strong(t string) string {
	if !s.tty {
		return t
	}
	return text.Bold.Sprint(t)
}

func (s screen) faint(t string) string {
	if !s.tty {
		return t
	}
	return text.Faint.Sprint(t)
}

// pairInks are the colours of Okabe and Ito (2008) as near as a terminal of 256 colours comes; the seventh is black there
// and the terminal's own here.
var pairInks = []text.Color{text.Fg256Color(32), text.Fg256Color(166), text.Fg256Color(36), text.Fg256Color(175), text.Fg256Color(74), text.Fg256Color(178), text.Reset}

// tint writes in the colour of a pair. It never carries what is not also written.
func (s screen) tint(pair int, t string) string {
	if !s.tty {
		return t
	}
	return pairInks[(pair-1)%len(pairInks)].Sprint(t)
}

// elide cuts a text to a width, at a space if there is one, and marks the cut.
func elide(s string, width int) string {
	if runewidth.StringWidth(s) <= width {
		return s
	}
	cut := runewidth.Truncate(s, max(1, width-1), "")
	if space := strings.LastIndexByte(cut, ' '); space > width/2 {
		cut = cut[:space]
	}
	return strings.TrimRight(cut, " ,;:(·") + "…"
}

// fill pads a text to a width with spaces.
func fill(s string, width int) string { return runewidth.FillRight(s, width) }

// wrap breaks long lines at blanks only: the sign stays with its number, "25-way" stays one word.
func wrap(s string, width int) string {
	w := wordwrap.NewWriter(width)
	w.Breakpoints = nil
	w.Write([]byte(s)) //nolint:errcheck // it writes to memory
	w.Close()          //nolint:errcheck // see above
	return trimLines(w.String())
}

// Width is how many columns text to a writer takes at most.
func Width(w io.Writer) int { return screenOf(w).width }

// Reflow breaks paragraphs anew to a width. Those with indented lines, such as examples and tables, stay as they are.
func Reflow(s string, width int) string {
	paragraphs := strings.Split(strings.TrimRight(s, " \n"), "\n\n")
	for i, p := range paragraphs {
		if !strings.HasPrefix(p, " ") && !strings.Contains(p, "\n ") {
			paragraphs[i] = wrap(strings.ReplaceAll(p, "\n", " "), width)
		}
	}
	return strings.Join(paragraphs, "\n\n")
}

func indent(s, by string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = by + strings.TrimRight(l, " ")
	}
	return strings.Join(lines, "\n")
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}
