package steps

import (
	"fmt"
	"math"
	"strings"
	"unicode"
	"unicode/utf8"

	"foldout/plan/sheet"
)

// sentence begins with a capital letter and ends with a full stop.
func sentence(s string) string {
	s = strings.TrimSpace(s)
	if s == "" {
		return s
	}
	first, size := utf8.DecodeRuneInString(s)
	s = string(unicode.ToUpper(first)) + s[size:]
	if !strings.HasSuffix(s, ".") {
		s += "."
	}
	return s
}

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

func two(n [2]int) string { return fmt.Sprintf("%d/%d", n[0], n[1]) }

// clock writes a time as m:ss, or with tenths.
func clock(seconds float64, tenths bool) string {
	if tenths {
		t := int64(math.Round(10 * seconds))
		return fmt.Sprintf("%d:%02d.%d", t/600, t/10%60, t%10)
	}
	s := int64(math.Round(seconds))
	return fmt.Sprintf("%d:%02d", s/60, s%60)
}

// outs names the outputs of a pair, with the interface where there are several.
func (m *maker) outs(p Pair) string {
	if m.several() {
		return fmt.Sprintf("%s outputs %s", p.Interface, two(p.Outputs))
	}
	return "outputs " + two(p.Outputs)
}

// where is the return: "inputs 1/2 of Redwing".
func (r Return) where() string {
	if !r.Stated {
		return "the return inputs (the rig does not say which)"
	}
	return fmt.Sprintf("inputs %s of %s", two(r.Inputs), r.Interface)
}

// speakers names what feeds the speakers.
func (m *maker) speakers() string {
	if i := m.monitors(); i != nil {
		return fmt.Sprintf("outputs %s of %s, which feed the speakers", two(i.MonitorPair), i.Name)
	}
	return "the outputs that feed the speakers (the rig names none)"
}

// command is a line to type.
func (m *maker) command(format string) string {
	return strings.NewReplacer("SHEET", file(m.SheetFile, "SHEET"), "RIG", file(m.RigFile, "RIG")).Replace("foldout " + format)
}

// file is a name as a shell takes it, "" the word that stands for it.
func file(name, otherwise string) string {
	if name == "" {
		return otherwise
	}
	if strings.ContainsFunc(name, func(r rune) bool {
		return !unicode.IsLetter(r) && !unicode.IsDigit(r) && !strings.ContainsRune("./\\:_-+,=@%~", r)
	}) {
		return `"` + name + `"`
	}
	return name
}

func trackNames(files []string) string {
	var names []string
	for _, f := range files {
		names = append(names, sheet.TrackName(f))
	}
	return strings.Join(names, ", ")
}

// db2 is a figure with two decimals and its unit.
func db2[T ~float64](v T, unit string) string {
	if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return "-"
	}
	return fmt.Sprintf("%+.2f %s", float64(v), unit)
}
