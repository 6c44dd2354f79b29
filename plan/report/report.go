// Package report makes the page to look at: one self-contained HTML file that carries the whole argument, on screen and
// on the paper that lies on the desk while patching.
//
// In goes what is known of a result (Page): a sheet.Sheet, and if they are there the judgement of a manual sheet, levels,
// a patch, what more pairs would buy. Out comes HTML without scripts, without references to anything outside the file,
// in light and dark, with print styles for A4 and US Letter. A section appears only when its data is given. All names
// are escaped. Colours are those of Okabe and Ito (2008, Color universal design); every colour is doubled by a number
// and a pattern.
package report

import (
	"embed"
	"errors"
	"fmt"
	"html/template"
	"io"
	"strings"

	"foldout/plan/levels"
	"foldout/plan/patch"
	"foldout/plan/sheet"
)

// Page is what a page may show. At least one part is needed.
type Page struct {
	Sheet    *sheet.Sheet
	Check    *sheet.Judgement // judgement of a manual sheet
	Sweep    *sheet.Sweep     // what more pairs would buy
	Levels   *levels.Levels   // what the pairs send
	Patch    *patch.Patch     // every plug
	Warnings []string         // said while the result was made, beyond those of the sheet
}

// ErrEmpty is the error for a page on which there is nothing to show.
var ErrEmpty = errors.New("there is nothing to show on the page")

//go:embed *.tmpl *.css
var files embed.FS

var page = template.Must(template.New("page.tmpl").Funcs(template.FuncMap{
	"plain":  plain,
	"db":     decibels,
	"signed": signedDecibels,
	"css":    style,
	"odd":    func(i int) bool { return i%2 == 1 },
	"plus":   func(a, b float64) float64 { return a + b },
	"minus":  func(a, b float64) float64 { return a - b },
	"half":   func(a float64) float64 { return a / 2 },
}).ParseFS(files, "*.tmpl"))

// Write writes the page. Errors are ErrEmpty and those of the writer.
func (p Page) Write(w io.Writer) error {
	v, err := p.view()
	if err != nil {
		return err
	}
	var b strings.Builder
	if err := page.Execute(&b, v); err != nil {
		return fmt.Errorf("the page cannot be written: %w", err)
	}
	_, err = io.WriteString(w, b.String())
	return err
}

// style is the style sheet of the page.
func style() (template.CSS, error) {
	var b strings.Builder
	for _, name := range []string{"colours.css", "screen.css", "figures.css", "print.css"} {
		text, err := files.ReadFile(name)
		if err != nil {
			return "", err
		}
		b.Write(text)
	}
	return template.CSS(b.String()), nil
}
