package text

import (
	"fmt"
	"io"
	"math"
	"strings"

	"github.com/mattn/go-runewidth"

	"foldout/features"
	"foldout/plan/explain"
)

// printer writes lines for people and keeps the first error.
type printer struct {
	w   io.Writer
	scr screen
	err error
}

func newPrinter(w io.Writer) *printer { return &printer{w: w, scr: screenOf(w)} }

func (p *printer) line(format string, args ...any) {
	if p.err == nil {
		_, p.err = fmt.Fprintln(p.w, strings.TrimRight(tame(fmt.Sprintf(format, args...)), " "))
	}
}

func (p *printer) head(text string) { p.line("\n%s", p.scr.strong(text)) }

// item writes text wrapped; lines after the first are indented by as much, and two more.
func (p *printer) item(indent, text string) {
	for i, l := range strings.Split(wrap(text, p.scr.width-len(indent)-2), "\n") {
		if i > 0 {
			indent, l = strings.Repeat(" ", len(indent)), "  "+strings.TrimLeft(l, " ")
		}
		p.line("%s%s", indent, l)
	}
}

// paragraph writes text wrapped, every line indented by two.
func (p *printer) paragraph(text string) {
	for _, l := range strings.Split(wrap(text, p.scr.width-4), "\n") {
		p.line("  %s", strings.TrimLeft(l, " "))
	}
}

// table writes rows in columns: the first to the left, the others to the right.
func (p *printer) table(rows [][]string) {
	var widths []int
	for _, row := range rows {
		for i, cell := range row {
			if i == len(widths) {
				widths = append(widths, 0)
			}
			widths[i] = max(widths[i], runewidth.StringWidth(cell))
		}
	}
	for n, row := range rows {
		text := " "
		for i, cell := range row {
			if i == 0 {
				text += " " + runewidth.FillRight(cell, widths[0])
			} else {
				text += "  " + runewidth.FillLeft(cell, widths[i])
			}
		}
		switch {
		case strings.TrimSpace(text) == "": // a head or units that nothing needs
		case n > 0:
			p.line("%s", text)
		default:
			p.line("%s", p.scr.faint(text))
		}
	}
}

// blocks writes a table that may be wider than the screen: as many columns as fit beside the names, the others in blocks
// below, each with the names again. Names take at most half of the width.
func (p *printer) blocks(rows [][]string) {
	widths := make([]int, len(rows[0]))
	for _, row := range rows {
		for i, cell := range row {
			widths[i] = max(widths[i], runewidth.StringWidth(cell))
		}
	}
	widths[0] = min(widths[0], p.scr.width/2)
	for first := 1; first < len(widths); {
		used, last := 2+widths[0], first
		for last < len(widths) && (last == first || used+2+widths[last] <= p.scr.width) {
			used += 2 + widths[last]
			last++
		}
		block := make([][]string, len(rows))
		for n, row := range rows {
			block[n] = append([]string{elide(row[0], widths[0])}, row[first:last]...)
		}
		if first > 1 {
			p.line("")
		}
		p.table(block)
		first = last
	}
}

// barRows is the height of a spectrum on the terminal, barStepDB what one line of it stands for.
const (
	barRows   = 5
	barStepDB = 8.0
)

var eighths = []rune(" ▁▂▃▄▅▆▇█")

// spectra draws long-term spectra below one another: a column per octave, eight decibels a line, 0 dB at the top.
func (p *printer) spectra(lines []explain.SpectrumLine) {
	for n, l := range lines {
		if l.Name != "" {
			p.line("  %s", l.Name)
		}
		for row := barRows - 1; row >= 0; row-- {
			text := ""
			for _, level := range l.Levels {
				text += " " + strings.Repeat(string(block(float64(level), row)), 4) + " "
			}
			p.line("  %4.0f dB %s", 0-barStepDB*float64(barRows-1-row), text)
		}
		if n == len(lines)-1 {
			text := ""
			for _, name := range features.BandNames {
				text += fmt.Sprintf("%5s ", name)
			}
			p.line("%s", p.scr.faint("      Hz  "+text))
		}
	}
}

// block is the block for one level in one line, line 0 at the bottom.
func block(level float64, row int) rune {
	if math.IsInf(level, 0) || math.IsNaN(level) {
		return ' '
	}
	filled := (level + barStepDB*barRows) / barStepDB
	e := int(math.Round(8 * (filled - float64(row))))
	return eighths[max(0, min(8, e))]
}
