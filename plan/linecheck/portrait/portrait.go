// Package portrait draws the result of a line check as a page to look at, to print and to keep: the verdicts, every
// output's figures and response, and the unit's own colour (response, harmonics, noise) summed up in words.
//
// In goes a trace.Result, out comes one HTML file without scripts and without anything from outside, in the look of the
// report. Curves are SVG; every colour is doubled by a dash pattern and a number.
package portrait

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"foldout/features"
	"foldout/plan/curves"
	"foldout/plan/linecheck/tones"
	"foldout/plan/linecheck/trace"
	"foldout/plan/report"
)

//go:embed page.tmpl portrait.css
var files embed.FS

var page = template.Must(template.Must(template.New("page.tmpl").Funcs(template.FuncMap{"f": figure, "signs": curves.Signs}).Parse(curves.Template)).ParseFS(files, "page.tmpl"))

type view struct {
	*trace.Result
	CSS      template.CSS
	Title    string
	Summary  []string
	Groups   []group
	Response *curves.Chart
	Colour   *curves.Chart
	Words    []string
	Cautions []string
}

type group struct {
	Title, Class string
	Verdicts     []trace.Verdict
}

// Write writes the page of a result.
func Write(w io.Writer, r *trace.Result) error {
	css, err := report.Styles()
	if err != nil {
		return err
	}
	own, err := Styles()
	if err != nil {
		return err
	}
	v := viewOf(r)
	v.CSS = css + curves.CSS() + template.CSS(own)
	var b strings.Builder
	if err := page.Execute(&b, v); err != nil {
		return fmt.Errorf("the page cannot be written: %w", err)
	}
	_, err = io.WriteString(w, b.String())
	return err
}

// Part writes what the page says of a result without the page's frame, for pages that load Styles and those of the report.
func Part(r *trace.Result) (string, error) {
	var b strings.Builder
	if err := page.ExecuteTemplate(&b, "body", viewOf(r)); err != nil {
		return "", fmt.Errorf("the result cannot be drawn: %w", err)
	}
	return b.String(), nil
}

// Styles are the styles that Part needs beside those of the report.
func Styles() (template.CSS, error) {
	own, err := files.ReadFile("portrait.css")
	return curves.CSS() + template.CSS(own), err
}

// viewOf readies a result for drawing.
func viewOf(r *trace.Result) *view {
	v := &view{Result: r, Title: "Line check", Words: Words(r), Cautions: tones.Cautions}
	if r.Unit != "" {
		v.Title = "Line check of " + r.Unit
	}
	for _, g := range []group{{"Faults", trace.Fault, nil}, {"Warnings", trace.Warning, nil}, {"Notes", trace.Note, nil}, {"Fine", trace.OK, nil}} {
		for _, verdict := range r.Verdicts {
			if verdict.Severity == g.Class {
				g.Verdicts = append(g.Verdicts, verdict)
			}
		}
		if len(g.Verdicts) > 0 {
			v.Groups = append(v.Groups, g)
		}
	}
	v.Summary = summary(r)
	v.Response, v.Colour = responses(r), harmonics(r)
	return v
}

func summary(r *trace.Result) []string {
	faults, warnings := 0, 0
	for _, v := range r.Verdicts {
		switch v.Severity {
		case trace.Fault:
			faults++
		case trace.Warning:
			warnings++
		}
	}
	first := "The patch is what it should be, as far as this check can tell."
	switch {
	case faults > 0:
		first = fmt.Sprintf("%d of the findings are faults: mend them before you mix.", faults)
		if faults == 1 {
			first = "There is one fault: mend it before you mix."
		}
	case warnings > 0:
		first = "No fault, but look at the warnings."
	}
	return []string{first, fmt.Sprintf("%d outputs, return %s, %g kHz, 1 kHz at %s.", len(r.Channels), r.Return, float64(r.SampleRateHz)/1000, figure("%+.1f dBFS", features.DB(r.ToneDBFS)))}
}

// figure writes a level or a number; what does not exist is a dash.
func figure(format string, v features.DB) string {
	if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return "–"
	}
	s := fmt.Sprintf(format, float64(v))
	if strings.Trim(s, "+-0. dBFS") == "" { // nothing is not less than nothing
		s = strings.Replace(s, "-", "+", 1)
	}
	return strings.ReplaceAll(s, "-", "−")
}
