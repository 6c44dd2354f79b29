package steps

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"strings"

	"foldout/features"
	"foldout/plan/report"
)

//go:embed page.tmpl steps.css
var files embed.FS

var page = template.Must(template.New("page.tmpl").Funcs(template.FuncMap{
	"db": func(v features.DB) string { return typeset(db(v)) }, "gain": func(v float64) string { return typeset(db(features.DB(v))) }, "plain": plain,
	"minus": func(s string) string { return strings.ReplaceAll(s, "-", "\u2212") },
	"hue":   func(n int) int { return (n-1)%7 + 1 },
}).ParseFS(files, "page.tmpl"))

// WritePage writes the list as one HTML file without scripts and without anything from outside, in the look of the
// report: boxes to tick, lines to fill in, and A4 in mind.
func (l *List) WritePage(w io.Writer) error {
	css, err := report.Styles()
	if err != nil {
		return err
	}
	own, err := files.ReadFile("steps.css")
	if err != nil {
		return err
	}
	var b strings.Builder
	if err := page.Execute(&b, struct {
		*List
		CSS template.CSS
	}{l, css + template.CSS(own)}); err != nil {
		return fmt.Errorf("the page cannot be written: %w", err)
	}
	_, err = io.WriteString(w, b.String())
	return err
}

func typeset(s string) string {
	if strings.HasPrefix(s, "-") && s != "-" {
		return "\u2212" + s[1:]
	}
	return s
}

// plain keeps control characters and turns of direction out of the page; HTML is the template's business.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case r >= '\u200e' && r <= '\u200f' || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069', r < ' ' || r >= 0x7f && r < 0xa0 || r == 0xfffe || r == 0xffff:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}
