package text

import (
	"fmt"
	"io"
	"strings"

	"github.com/mattn/go-runewidth"

	"foldout/plan/sheet"
	"foldout/plan/steps"
)

// blank is a line to fill in.
const blank = "________"

// Steps writes the session step by step, the levels to expect where they are needed, and the recall sheet.
func Steps(w io.Writer, l *steps.List) error {
	p := newPrinter(w)
	p.line("%s through %s: the session in %d steps", p.scr.strong(sheet.Printable(l.Title)), sheet.Printable(l.Rig), len(l.Steps))
	p.line("%s; %s into %s", sheet.Printable(l.Alignment), count(len(l.Pairs), "pair"), sheet.Printable(l.Unit))
	for _, s := range l.Steps {
		p.head(fmt.Sprintf("%d. %s", s.Number, s.Title))
		p.paragraph(s.Why)
		for _, c := range s.Cautions {
			p.item("  CAUTION ", c)
		}
		for _, d := range s.Do {
			p.item("  [ ] ", d.Text)
			for _, m := range d.More {
				p.item("        ", m)
			}
		}
		if s.Name == "trims" && l.Print != nil {
			p.line("%s", "")
			columns(p, meterRows(l))
		}
		for _, q := range s.Asked {
			p.item("  ? ", q.Question+" "+q.Answer)
		}
	}
	p.head("Recall sheet: " + l.Title)
	if l.Recall.Measured != "" {
		p.item("  ", "Beside the blanks stands what the line check of "+l.Recall.Measured+" measured.")
	}
	for _, t := range l.Recall.Tables {
		p.line("\n  %s", p.scr.strong(sheet.Printable(t.Title)))
		columns(p, append([][]string{t.Head}, filledIn(t.Rows)...))
	}
	p.line("\n  %s", p.scr.strong("Notes"))
	for _, n := range l.Recall.Notes {
		p.item("  ", n.Date+"  "+n.Text)
	}
	for range 2 {
		p.line("  %s", strings.Repeat("_", p.scr.width-4))
	}
	if len(l.Notes) > 0 {
		p.head("About this patch and rig")
		for _, n := range l.Notes {
			p.item("  - ", n)
		}
	}
	return p.err
}

// meterRows are the levels to expect, pair by pair.
func meterRows(l *steps.List) [][]string {
	rows := [][]string{{"", "trim", "loud", "loud", "swing", "peaks", "own trim", "as exported"}, {"pair", "dB", "VU", "dBFS", "VU", "dBTP", "dB", "VU, dBTP"}}
	for _, p := range l.Pairs {
		name := elide(p.Path, 17)
		if p.Meter == nil {
			rows = append(rows, []string{name, "silent"})
			continue
		}
		b, e := p.Meter.Balanced, p.Meter.AsExported
		rows = append(rows, []string{name, fmt.Sprintf("%+.1f", p.Meter.BalanceDB), level(b.VULoud), level(b.DBFSLoud), level(b.VUMax), level(b.TruePeakDBTP),
			fmt.Sprintf("%+.1f", p.Meter.OwnDB), level(e.VULoud) + ", " + level(e.TruePeakDBTP)})
	}
	if r := l.Return.Reading; r != nil {
		rows = append(rows, []string{"Return", "", level(r.VULoud), level(r.DBFSLoud), level(r.VUMax), level(r.TruePeakDBTP)})
	}
	return rows
}

func filledIn(rows [][]string) [][]string {
	out := make([][]string, len(rows))
	for n, row := range rows {
		for _, cell := range row {
			if cell == "" {
				cell = blank
			}
			out[n] = append(out[n], cell)
		}
	}
	return out
}

// columns writes rows in columns, all to the left. Where the last column does not fit, it stands below.
func columns(p *printer, rows [][]string) {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], runewidth.StringWidth(sheet.Printable(cell)))
		}
	}
	total := 2
	for _, w := range widths {
		total += w + 2
	}
	for n, row := range rows {
		text, below := "  ", ""
		for i, cell := range row {
			if i == len(widths)-1 && total-2 > p.scr.width && i > 1 {
				below = sheet.Printable(cell)
				continue
			}
			text += fill(sheet.Printable(cell), widths[i]) + "  "
		}
		if n == 0 {
			text = p.scr.faint(strings.TrimRight(text, " "))
			if below != "" {
				below = "below each: " + below
			}
		}
		p.line("%s", text)
		if below != "" {
			p.item("        ", below)
		}
	}
}

// Kept says what a sheet keeps for the recall sheet.
func Kept(w io.Writer, file string, n sheet.Note) error {
	p := newPrinter(w)
	p.item("", fmt.Sprintf("%s keeps the note of %s", sheet.Printable(file), n.Date))
	return p.err
}
