package text

import (
	"fmt"
	"io"
	"strings"

	"foldout/plan/sheet"
)

// styles are the only control sequences that reach a terminal: off, bold and faint.
var styles = []string{"\x1b[0m", "\x1b[1m", "\x1b[2m"}

// tame is sheet.Printable for text of several lines that may hold styles.
func tame(s string) string {
	var b strings.Builder
	for s != "" {
		n := strings.IndexAny(s, "\n\x1b")
		if n < 0 {
			n = len(s)
		}
		b.WriteString(sheet.Printable(s[:n]))
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
	c.Title = sheet.Printable(s.Title)
	c.Pairs = make([]sheet.Pair, len(s.Pairs))
	for n, p := range s.Pairs {
		p.Name, p.Reason = sheet.Printable(p.Name), sheet.Printable(p.Reason)
		tracks := make([]sheet.Placement, len(p.Tracks))
		for i, t := range p.Tracks {
			t.File, t.Bus, t.RunnerUp = sheet.Printable(t.File), sheet.Printable(t.Bus), sheet.Printable(t.RunnerUp)
			t.Reasons = append([]sheet.Reason(nil), t.Reasons...)
			for k := range t.Reasons {
				r := &t.Reasons[k]
				r.Fact, r.Detail = sheet.Printable(r.Fact), sheet.Printable(r.Detail)
				if r.Comparison != nil {
					c := *r.Comparison
					c.Nearer, c.Farther = sheet.Printable(c.Nearer), sheet.Printable(c.Farther)
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
		c.SetAside[i].File = sheet.Printable(c.SetAside[i].File)
	}
	return &c
}
