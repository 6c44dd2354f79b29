package report

import (
	"fmt"
	"math"
	"strconv"
	"strings"

	"foldout/features"
	"foldout/plan/curves"
)

// plain makes a text from outside fit to be shown: no control characters, nothing that turns the direction of the text
// around it. HTML escapes are the template's business.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\n' || r == '\t' || r == '\r':
			return ' '
		case r == '\u200d' || r == '\u200c': // join emoji and letters
			return r
		case r >= '\u200e' && r <= '\u200f' || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069':
			return -1
		case r < ' ' || r >= 0x7f && r < 0xa0 || r == 0xfffe || r == 0xffff:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}

// trackName is a file without its extension, folders kept: they tell tracks apart.
func trackName(file string) string {
	if dot := strings.LastIndexByte(file, '.'); dot > strings.LastIndexByte(file, '/')+1 {
		file = file[:dot]
	}
	return plain(file)
}

// shortName is trackName without folders.
func shortName(file string) string {
	name := trackName(file)
	return name[strings.LastIndexByte(name, '/')+1:]
}

const minus = "\u2212"

// decibels writes a level with one decimal; what does not exist is a dash.
func decibels(v any) string {
	f := float(v)
	if math.IsInf(f, 0) || math.IsNaN(f) {
		return "–"
	}
	s := strconv.FormatFloat(f, 'f', 1, 64)
	if s == "-0.0" {
		s = "0.0"
	}
	return strings.Replace(s, "-", minus, 1)
}

// signedDecibels is decibels with a plus sign before gains.
func signedDecibels(v any) string {
	s := decibels(v)
	if float(v) > 0 && s != "0.0" && s != "–" {
		return "+" + s
	}
	return s
}

func float(v any) float64 {
	switch v := v.(type) {
	case features.DB:
		return float64(v)
	case float64:
		return v
	}
	return math.NaN()
}

// sentences cuts a text after its full stops.
func sentences(s string) (out []string) {
	for _, part := range strings.SplitAfter(s, ". ") {
		if part = strings.TrimSpace(part); part != "" {
			out = append(out, part)
		}
	}
	return out
}

// list joins words with commas and a last "and".
func list(words []string) string {
	switch n := len(words); n {
	case 0:
		return ""
	case 1:
		return words[0]
	default:
		return strings.Join(words[:n-1], ", ") + " and " + words[n-1]
	}
}

func count(n int, what string) string {
	if n == 1 {
		return "1 " + what
	}
	return fmt.Sprintf("%d %ss", n, what)
}

// percent writes a share without pretending to be surer than it is.
func percent(share float64) string { return fmt.Sprintf("%.0f %%", 100*share) }

// typeset puts thin, unbreakable spaces between numbers and their units, draws arrows, and writes the signs of figures as pages do.
func typeset(s string) string {
	s = strings.ReplaceAll(curves.Signs(s), " -> ", " → ")
	for _, unit := range []string{"%", "Hz", "kHz", "dB", "ms", "LUFS", "dBTP", "dBu"} {
		s = strings.ReplaceAll(s, " "+unit, "\u202f"+unit)
	}
	return s
}
