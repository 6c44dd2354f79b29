package main

import (
	"bytes"
	"encoding/xml"
	"fmt"
	"strings"
)

// Measures of a terminal drawn as SVG, in pixels.
const (
	letterWide = 7.8
	letterHigh = 17
	margin     = 16
)

// terminal draws lines of text as a terminal window would show them. Spaces become unbreakable ones, which no viewer
// draws together.
func terminal(text string) []byte {
	lines := strings.Split(strings.TrimRight(text, "\n"), "\n")
	most := 0
	for _, l := range lines {
		most = max(most, len([]rune(l)))
	}
	wide, high := int(letterWide*float64(most))+2*margin, letterHigh*len(lines)+2*margin
	var b bytes.Buffer
	fmt.Fprintf(&b, `<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 %d %d" width="%d" height="%d" role="img" aria-label="foldout suggest on the terminal">`+"\n", wide, high, wide, high)
	fmt.Fprintf(&b, `<rect width="%d" height="%d" rx="6" fill="#1b1b1d"/>`+"\n", wide, high)
	b.WriteString(`<g font-family="DejaVu Sans Mono, Menlo, Consolas, monospace" font-size="13" fill="#ede9e1">` + "\n")
	for n, l := range lines {
		if l == "" {
			continue
		}
		fmt.Fprintf(&b, `<text x="%d" y="%d" textLength="%.1f" lengthAdjust="spacing">`, margin, margin+letterHigh*n+13, letterWide*float64(len([]rune(l))))
		xml.EscapeText(&b, []byte(strings.ReplaceAll(l, " ", "\u00a0"))) //nolint:errcheck // a buffer takes everything
		b.WriteString("</text>\n")
	}
	b.WriteString("</g>\n</svg>\n")
	return b.Bytes()
}
