package patch

import (
	"strings"

	"foldout/plan/sheet"

	"github.com/mattn/go-runewidth"
)

// boldWider is how much wider a bold face sets (DejaVu Sans Bold against its regular: 1.10 to 1.15).
const boldWider = 1.15

// em estimates the advance of a character in units of the type size, for the wider of the faces the drawing names.
// The classes are those of DejaVu Sans (i .28, e .62, digits .64, M .86, W .99), rounded up.
func em(r rune) float64 {
	switch {
	case runewidth.RuneWidth(r) == 0:
		return 0
	case runewidth.RuneWidth(r) > 1:
		return 1.05
	case strings.ContainsRune("ijl.,:;'|!I ", r):
		return 0.36
	case strings.ContainsRune("frt()[]/-", r):
		return 0.42
	case strings.ContainsRune("WM@%mw", r):
		return 1
	case r >= 'A' && r <= 'Z':
		return 0.74
	}
	return 0.64
}

// wide estimates the width of a text.
func wide(s string, size float64) (w float64) {
	for _, r := range s {
		w += em(r) * size
	}
	return w
}

// cut splits a text where it reaches a width, after one character at least.
func cut(s string, width, size float64) (head, tail string) {
	w := 0.0
	for at, r := range s {
		if w += em(r) * size; w > width && at > 0 {
			return s[:at], s[at:]
		}
	}
	return s, ""
}

// clip shortens a text to a width with an ellipsis.
func clip(s string, width, size float64) string {
	if wide(s, size) <= width {
		return s
	}
	head, _ := cut(s, width-size, size)
	return strings.TrimSpace(head) + "\u2026"
}

// wrap breaks a text at blanks into lines of a width; words that are too long are broken anywhere.
func wrap(s string, width, size float64) (lines []string) {
	line := ""
	for _, word := range strings.Fields(s) {
		for wide(word, size) > width {
			if line != "" {
				lines, line = append(lines, line), ""
			}
			head, tail := cut(word, width, size)
			if tail == "" {
				break
			}
			lines, word = append(lines, head), tail
		}
		switch {
		case line == "":
			line = word
		case wide(line+" "+word, size) <= width:
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

// name sets a device's name on at most three bold lines.
func name(s string, width, size float64) []string {
	lines := wrap(sheet.Printable(s), width, size*boldWider)
	if len(lines) > 3 {
		lines = append(lines[:2], clip(strings.Join(lines[2:], ""), width, size*boldWider))
	}
	return lines
}
