package text

import (
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"

	"foldout/plan/patch"
	"foldout/plan/sheet"
)

// Patch writes the patch for people: pairs with their two lines each, the way back, cables, notes, cautions. A line that
// does not fit beside its way goes on below, hop by hop.
func Patch(w io.Writer, d *patch.Patch) error {
	p := newPrinter(w)
	p.line("%s through %s", sheet.Printable(d.Title), sheet.Printable(d.Rig))
	p.item("", fmt.Sprintf("Alignment %s. Outputs and inputs are counted from 1.", d.Alignment))
	lines := map[int][][]string{} // the hops of each line, by lane
	for n, l := range d.Lanes {
		for _, line := range l.Lines {
			lines[n] = append(lines[n], []string{line.Side,
				fmt.Sprintf("%s out %-3d %s", sheet.Printable(l.Interface), line.Output, contacts(line.From)),
				fmt.Sprintf("%s in %-3d %s", sheet.Printable(d.Unit), line.SummingInput, contacts(line.To))})
		}
	}
	var all [][]string
	for _, l := range lines {
		all = append(all, l...)
	}
	hops := p.hopsOf(all)
	for n, l := range d.Lanes {
		p.head(fmt.Sprintf("Pair %d  %s", l.Number, sheet.Printable(l.Name)))
		for _, bus := range l.Buses {
			var names []string
			for _, t := range bus.Tracks {
				names = append(names, sheet.Printable(sheet.TrackName(t)))
			}
			p.item("  ", sheet.Printable(bus.Name)+": "+strings.Join(names, ", "))
		}
		if l.Free {
			p.line("  free: nothing is on it")
		}
		for _, line := range lines[n] {
			hops(line)
		}
	}
	if r := d.Return; r.Interface != "" {
		p.head("Return")
		var back [][]string
		for side, letter := range []string{"L", "R"} {
			back = append(back, []string{letter,
				fmt.Sprintf("%s out %s  %s", sheet.Printable(d.Unit), letter, contacts(r.From[side])),
				fmt.Sprintf("%s in %-3d %s", sheet.Printable(r.Interface), r.Inputs[side], contacts(r.To[side])),
				fmt.Sprintf("track %q", sheet.Printable(r.PrintTrack))})
		}
		hops := p.hopsOf(back)
		for _, line := range back {
			hops(line)
		}
	}
	p.head("Cables")
	for _, c := range d.Cables {
		p.item("  ", fmt.Sprintf("%d x %s%s: %s -> %s (%s)", c.Count, sheet.Printable(c.Kind), c.StockWords(), sheet.Printable(c.From), sheet.Printable(c.To), c.Carry))
	}
	p.head("Labels, both ends of each line")
	for _, l := range d.Labels() {
		p.item("  ", sheet.Printable(l))
	}
	p.list("Notes", d.Notes)
	p.list("Cautions", d.Cautions)
	return p.err
}

// hopsOf gives the writer of lines that go from hop to hop, the first word their side: in columns where all of them fit
// the width, else one hop below the other.
func (p *printer) hopsOf(lines [][]string) func(line []string) {
	var widths []int
	for _, line := range lines {
		for i, hop := range line {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], runewidth.StringWidth(hop))
		}
	}
	total := 0
	for _, w := range widths {
		total += w + len("  -->  ")
	}
	return func(line []string) {
		if total <= p.scr.width {
			text := "  " + line[0] + "  " + fill(line[1], widths[1])
			for i, hop := range line[2:] {
				text += "  -->  " + fill(hop, widths[i+2])
			}
			p.line("%s", text)
			return
		}
		p.item("  "+line[0]+"  ", line[1])
		for _, hop := range line[2:] {
			p.item("     --> ", hop)
		}
	}
}

// list writes remarks under a heading, or nothing.
func (p *printer) list(title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	p.head(title)
	for _, l := range lines {
		p.item("  - ", sheet.Printable(l))
	}
}

func contacts(e patch.End) string { return fmt.Sprintf("%s (%s)", e, e.Contacts()) }
