package text

import (
	"fmt"
	"io"
	"strconv"
	"strings"

	"foldout/plan/sheet"
)

// printable keeps control characters, which names of files may hold, out of the terminal.
func printable(s string) string {
	return strings.Map(func(r rune) rune {
		if r == '\n' || r == '\t' || r == '\r' {
			return ' '
		}
		if !strconv.IsPrint(r) && r != '\u200d' { // the joiner of compound pictographs
			return -1
		}
		return r
	}, s)
}

// styles are the only control sequences that reach a terminal: off, bold and faint.
var styles = []string{"\x1b[0m", "\x1b[1m", "\x1b[2m"}

// tame is printable for text of several lines that may hold styles.
func tame(s string) string {
	var b strings.Builder
	for s != "" {
		n := strings.IndexAny(s, "\n\x1b")
		if n < 0 {
			n = len(s)
		}
		b.WriteString(printable(s[:n]))
		if s = s[n:]; s == "" {
			break
		}
		keep := s[:1]
		if keep == "\x1b" {
			keep = ""
			for _, style := range styles {
				if strings.HasPrefix(s, style) {
					keep = style
				}
			}
		}
		b.WriteString(keep)
		s = s[max(1, len(keep)):]
	}
	return b.String()
}

// wrapLines breaks long lines between words; what follows is indented by four more than the line.
func wrapLines(s string, width int) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		rest := strings.TrimLeft(l, " ")
		indent := l[:len(l)-len(rest)]
		lines[i] = indent + strings.ReplaceAll(wrap(rest, width-len(indent)-4), "\n", "\n"+indent+"    ")
	}
	return trimLines(strings.Join(lines, "\n"))
}

// trimLines cuts blanks at the ends of lines.
func trimLines(s string) string {
	lines := strings.Split(s, "\n")
	for i, l := range lines {
		lines[i] = strings.TrimRight(l, " ")
	}
	return strings.Join(lines, "\n")
}

// Complain writes a warning or an error.
func Complain(w io.Writer, format string, args ...any) {
	fmt.Fprintf(w, "foldout: %s\n", tame(fmt.Sprintf(format, args...)))
}

// printableSheet is a copy of a sheet for people to read, without control characters in its names.
func printableSheet(s *sheet.Sheet) *sheet.Sheet {
	c := *s
	c.Title = printable(s.Title)
	c.Pairs = make([]sheet.Pair, len(s.Pairs))
	for n, p := range s.Pairs {
		p.Name, p.Reason = printable(p.Name), printable(p.Reason)
		tracks := make([]sheet.Placement, len(p.Tracks))
		for i, t := range p.Tracks {
			t.File, t.Bus, t.RunnerUp = printable(t.File), printable(t.Bus), printable(t.RunnerUp)
			t.Reasons = append([]sheet.Reason(nil), t.Reasons...)
			for k := range t.Reasons {
				r := &t.Reasons[k]
				r.Fact, r.Detail = printable(r.Fact), printable(r.Detail)
				if r.Comparison != nil {
					c := *r.Comparison
					c.Nearer, c.Farther = printable(c.Nearer), printable(c.Farther)
					r.Comparison = &c
				}
			}
			tracks[i] = t
		}
		p.Tracks = tracks
		c.Pairs[n] = p
	}
	c.SetAside = append([]sheet.SetAside(nil), s.SetAside...)
	for i := range c.SetAside {
		c.SetAside[i].File = printable(c.SetAside[i].File)
	}
	return &c
}
