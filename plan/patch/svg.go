package patch

import (
	"encoding/xml"
	"strings"
	"text/template"

	"github.com/mattn/go-runewidth"
)

// SVG draws the patch as a sheet for the wall: pairs on the left, lines through the interface's outputs to the summing
// inputs, the way back below, then cautions, cables and notes. It is one well-formed SVG 1.1 document without scripts
// or references; names are escaped. Left is a solid line, right a dashed one, every line carries its pair's number, so
// it reads without colour.
func (p *Patch) SVG() string { return render(p.layOut(true)) }

// Drawing is SVG without the lists, for pages that carry those themselves.
func (p *Patch) Drawing() string { return render(p.layOut(false)) }

func render(d *drawing) string {
	var b strings.Builder
	if err := sheetSVG.Execute(&b, d); err != nil {
		// Building strings does not fail, and TestSVGIsWellFormed runs every branch of the template.
		return `<svg xmlns="http://www.w3.org/2000/svg"><desc>` + escape(err.Error()) + `</desc></svg>`
	}
	return b.String()
}

// escape makes text safe inside elements and attributes.
func escape(s string) string {
	var b strings.Builder
	if err := xml.EscapeText(&b, []byte(clean(s))); err != nil {
		return ""
	}
	return b.String()
}

// textUnits estimates the width of a text in a sans-serif face: 0.56 em for a cell (measured on Liberation Sans and
// DejaVu Sans names of tracks; DejaVu is the wider).
func textUnits(s string, size int) int { return int(0.56*float64(size*runewidth.StringWidth(s)) + 0.5) }

// clip shortens a text to a width with an ellipsis.
func clip(s string, width, size int) string {
	if textUnits(s, size) <= width {
		return s
	}
	return runewidth.Truncate(s, int(float64(width)/(0.56*float64(size))), "\u2026")
}

// wrap breaks a text at blanks into lines of a width; words that are too long are broken anywhere.
func wrap(s string, width, size int) (lines []string) {
	cells := max(1, int(float64(width)/(0.56*float64(size))))
	line := ""
	for _, word := range strings.Fields(s) {
		for runewidth.StringWidth(word) > cells {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			head := runewidth.Truncate(word, cells, "")
			if head == "" {
				break
			}
			lines, word = append(lines, head), word[len(head):]
		}
		switch {
		case line == "":
			line = word
		case runewidth.StringWidth(line)+1+runewidth.StringWidth(word) <= cells:
			line += " " + word
		default:
			lines, line = append(lines, line), word
		}
	}
	if line != "" {
		lines = append(lines, line)
	}
	return lines
}

var sheetSVG = template.Must(template.New("patch").Funcs(template.FuncMap{
	"e": escape,
	"add": func(a ...int) (s int) {
		for _, v := range a {
			s += v
		}
		return s
	},
	"half": func(a int) int { return a / 2 },
	"mul":  func(a, b int) int { return a * b },
}).Parse(sheetTemplate))
