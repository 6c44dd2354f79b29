package roles

import (
	"math"
	"path"
	"slices"
	"strings"
	"unicode"
)

// tokenize cuts a name into lower-case words without accents: at anything that is not a letter, between letters and
// digits, at a change from lower to upper case, and where known words are glued together.
func tokenize(name string, d dictionary) []string {
	name = lastElement(strings.ReplaceAll(name, `\`, "/"))
	if ext := path.Ext(name); len(ext) <= 5 {
		name = strings.TrimSuffix(name, ext)
	}
	raw := cut(fold(name))
	var out []string
	for i := 0; i < len(raw); i++ {
		w := strings.ToLower(raw[i])
		if i+1 < len(raw) {
			if glued := w + strings.ToLower(raw[i+1]); d.single[glued] && oneWord(raw[i], raw[i+1]) {
				out = append(out, glued)
				i++
				continue
			}
		}
		if !d.single[w] && d.plain[w] == nil && len(w) >= 3 && !isNumber(w) && !sideWords[w] {
			if parts := segment(w, d); parts != nil {
				out = append(out, parts...)
				continue
			}
		}
		out = append(out, w)
	}
	return out
}

// lastElement drops the folders of a path, but not what a slash within a name parts: "O/H", "Reed 1 (Fl/Picc)".
func lastElement(name string) string {
	base := path.Base(name)
	i := strings.LastIndex(name, "/")
	if i < 1 || i+1 >= len(name) {
		return base
	}
	bracket := strings.Contains(base, ")") && !strings.Contains(base, "(")
	if before := name[:i]; bracket || oneLetter(before[strings.LastIndexAny(before, " _-./")+1:]) && oneLetter(firstWord(base)) {
		return lastElement(before) + " " + base
	}
	return base
}

func firstWord(s string) string {
	if i := strings.IndexAny(s, " _-."); i >= 0 {
		return s[:i]
	}
	return s
}

func oneLetter(w string) bool { return len(w) == 1 && unicode.IsLetter(rune(w[0])) }

// cut splits at anything that is no letter or digit, between the two, and at the humps of camel case.
func cut(name string) []string {
	var out []string
	var cur []rune
	flush := func() {
		if len(cur) > 0 {
			out = append(out, string(cur))
			cur = cur[:0]
		}
	}
	rs := []rune(name)
	for i, r := range rs {
		n := len(cur)
		switch {
		case unicode.IsLetter(r):
			if n > 0 {
				prev := cur[n-1]
				upperAfterLower := unicode.IsUpper(r) && unicode.IsLower(prev)
				lastOfRun := unicode.IsUpper(prev) && unicode.IsUpper(r) && i+1 < len(rs) && unicode.IsLower(rs[i+1]) && n > 1
				if unicode.IsDigit(prev) || upperAfterLower || lastOfRun {
					flush()
				}
			}
			cur = append(cur, r)
		case unicode.IsDigit(r):
			if n > 0 && !unicode.IsDigit(cur[n-1]) {
				flush()
			}
			cur = append(cur, r)
		default:
			flush()
		}
	}
	flush()
	return out
}

// oneWord tells the parts that belong together if their union is a word: B3, DX7, MS20; E-Gitarre, U Bass; Lead Vox.
func oneWord(a, b string) bool {
	return isNumber(a) != isNumber(b) || len(a) == 1 && len(b) >= 4 || len(a) >= 3 && len(b) >= 3
}

func isNumber(w string) bool { return unicode.IsDigit([]rune(w)[0]) }

// gluable are the words of two letters that may be part of a glued word.
var gluable = setOf("bs sn bd hh oh gt rm dr ep ac ag eg vx lv bv bg in hi lo di st")

// segment cuts a glued word into known words, fewest parts first; nil if that cannot be done. A single letter is
// accepted only as a side mark at the end.
func segment(w string, d dictionary) []string {
	type piece struct{ parts, from int }
	n := len(w)
	best := make([]piece, n+1)
	for i := 1; i <= n; i++ {
		best[i].parts = math.MaxInt32
		for j := 0; j < i; j++ {
			if best[j].parts == math.MaxInt32 {
				continue
			}
			p := w[j:i]
			known := len(p) >= 3 && (d.single[p] || d.plain[p] != nil) || gluable[p] || i == n && j > 0 && (p == "l" || p == "r")
			if known && best[j].parts+1 < best[i].parts {
				best[i] = piece{best[j].parts + 1, j}
			}
		}
	}
	if k := best[n].parts; k < 2 || k > 3 {
		return nil
	}
	var parts []string
	for i := n; i > 0; i = best[i].from {
		parts = append([]string{w[best[i].from:i]}, parts...)
	}
	if !d.oneLanguage(parts) {
		return nil
	}
	for _, p := range parts {
		if d.single[p] {
			return parts
		}
	}
	return nil
}

// oneLanguage tells whether there is a language to which all words belong. International words belong to any; nobody glues
// a Croatian word to a Turkish one ("glas" "ses").
func (d dictionary) oneLanguage(words []string) bool {
	var common map[string]bool // nil: any
	for _, w := range words {
		of := map[string]bool{}
		for _, l := range d.plain[w] {
			of[strings.TrimPrefix(l, "-")] = true
		}
		for _, e := range d.phrases[w] {
			if e.lang[:min(1, len(e.lang))] != "@" {
				of[e.lang] = true
			}
		}
		if len(of) == 0 || of[""] {
			continue
		}
		if common == nil {
			common = of
			continue
		}
		for l := range common {
			if !of[l] {
				delete(common, l)
			}
		}
		if len(common) == 0 {
			return false
		}
	}
	return true
}

// dropCommonPrefix takes away leading words that (nearly) every name shares, such as the song's title, when the rest
// of most names still says something.
func dropCommonPrefix(tokens [][]string, d dictionary) {
	if len(tokens) < 6 {
		return
	}
	for {
		count := map[string]int{}
		for _, t := range tokens {
			if len(t) > 1 {
				count[t[0]]++
			}
		}
		common := ""
		for _, w := range sortedKeys(count) {
			if count[w]*10 >= len(tokens)*9 {
				common = w
			}
		}
		if common == "" || speaking(tokens, d)*10 < len(tokens)*6 {
			return
		}
		for i, t := range tokens {
			if len(t) > 1 && t[0] == common {
				tokens[i] = t[1:]
			}
		}
	}
}

// partSides cuts the side off words that are a pair but for it, such as "ogl" and "ogr", unless both are known words.
func partSides(tokens [][]string, d dictionary) {
	at := map[string]bool{}
	for _, t := range tokens {
		at[strings.Join(t, " ")] = true
	}
	known := func(w string) bool { return d.single[w] || d.plain[w] != nil }
	for n, t := range tokens {
		for i, w := range t {
			last := len(w) - 1
			if last < 1 || w[last] != 'l' && w[last] != 'r' {
				continue
			}
			other := w[:last] + string('l'+'r'-w[last])
			if known(w) && known(other) || !at[strings.Join(slices.Concat(t[:i], []string{other}, t[i+1:]), " ")] {
				continue
			}
			tokens[n] = slices.Concat(t[:i], []string{w[:last], w[last:]}, t[i+1:])
			break
		}
	}
}

// speaking counts the names that hold a known word after their first.
func speaking(tokens [][]string, d dictionary) int {
	n := 0
	for _, t := range tokens {
		for _, w := range t[min(1, len(t)):] {
			if d.single[w] {
				n++
				break
			}
		}
	}
	return n
}
