package patch

import (
	"encoding/xml"
	"strings"
	"text/template"

	"foldout/plan/sheet"
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
	if err := xml.EscapeText(&b, []byte(sheet.Printable(s))); err != nil {
		return ""
	}
	return b.String()
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
