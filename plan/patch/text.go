package patch

import (
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"
	"github.com/muesli/reflow/wordwrap"
)

const textWidth = 112

// WriteText writes the patch for people: pairs with their two lines each, the way back, cables, notes, cautions.
func (p *Patch) WriteText(w io.Writer) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s through %s\nAlignment %s. Outputs and inputs are counted from 1.\n", clean(p.Title), clean(p.Rig), p.Alignment)
	var ends, outs int // widths of columns
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			outs = max(outs, runewidth.StringWidth(clean(l.Interface)))
			ends = max(ends, runewidth.StringWidth(contacts(line.From)))
		}
	}
	for _, l := range p.Lanes {
		fmt.Fprintf(&b, "\nPair %d  %s\n", l.Number, clean(l.Name))
		for _, bus := range l.Buses {
			var names []string
			for _, t := range bus.Tracks {
				names = append(names, clean(trackName(t)))
			}
			para(&b, "  "+clean(bus.Name)+": ", strings.Join(names, ", "))
		}
		if l.Free {
			b.WriteString("  free: nothing is on it\n")
		}
		for _, line := range l.Lines {
			fmt.Fprintf(&b, "  %s  %s out %-3d %s  -->  %s in %-3d %s\n", line.Side, fill(clean(l.Interface), outs), line.Output, fill(contacts(line.From), ends),
				clean(p.Unit), line.SummingInput, contacts(line.To))
		}
	}
	if p.Return.Interface != "" {
		b.WriteString("\nReturn\n")
		for side := range sides {
			fmt.Fprintf(&b, "  %s  %s out %s  %s  -->  %s in %-3d %s  -->  track %q\n", sides[side], clean(p.Unit), sides[side], contacts(p.Return.From[side]),
				clean(p.Return.Interface), p.Return.Inputs[side], contacts(p.Return.To[side]), clean(p.Return.PrintTrack))
		}
	}
	b.WriteString("\nCables\n")
	for _, c := range p.Cables {
		para(&b, fmt.Sprintf("  %d x ", c.Count), fmt.Sprintf("%s%s: %s -> %s (%s)", clean(c.Kind), c.stockWords(), clean(c.From), clean(c.To), c.Carry))
	}
	b.WriteString("\nLabels, both ends of each line\n")
	for _, l := range p.labels() {
		fmt.Fprintf(&b, "  %s\n", l)
	}
	section(&b, "Notes", p.Notes)
	section(&b, "Cautions", p.Cautions)
	_, err := io.WriteString(w, b.String())
	return err
}

// labels are the texts for the ends of all lines, in order.
func (p *Patch) labels() (list []string) {
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			list = append(list, clean(line.Label))
		}
	}
	if p.Return.Interface != "" {
		list = append(list, clean(p.Return.Label[0]), clean(p.Return.Label[1]))
	}
	return list
}

func (c Cable) stockWords() string {
	if c.Have < 0 {
		return ""
	}
	return fmt.Sprintf(" (have %d, buy %d)", c.Have, c.Buy())
}

func contacts(e End) string { return fmt.Sprintf("%s (%s)", e, e.Contacts()) }

func section(b *strings.Builder, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", title)
	for _, l := range lines {
		para(b, "  - ", clean(l))
	}
}

// para writes text wrapped, its later lines indented below the first.
func para(b *strings.Builder, head, text string) {
	indent := strings.Repeat(" ", 4)
	w := wordwrap.NewWriter(textWidth)
	w.Breakpoints = nil          // "25-way" is one word
	w.Write([]byte(head + text)) //nolint:errcheck // it writes to memory
	w.Close()                    //nolint:errcheck // see above
	for n, line := range strings.Split(w.String(), "\n") {
		if n > 0 {
			b.WriteString(indent)
		}
		b.WriteString(line + "\n")
	}
}

func fill(s string, width int) string { return runewidth.FillRight(s, width) }

// clean keeps control characters out of terminals and drawings: names of files may hold any.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < ' ' || r >= 0x7f && r < 0xa0 || r == 0xfffe || r == 0xffff || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}
