// Package roles reads what an engineer wrote on a track: in goes a list of track names, out comes for each a soft
// hint of its role, its kind (parallel copy, effect return, double) and its side.
//
// A hint is an opinion with a weight, never a verdict: a name that says nothing gives an empty hint, and the sound
// decides. Words, abbreviations and languages are listed in words.tsv (common practice, no source).
package roles

import (
	_ "embed"
	"math"
	"path"
	"sort"
	"strconv"
	"strings"
	"sync"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// Hint is what one name says.
type Hint struct {
	// Role holds probabilities over roles. Their sum is at most 1; what is missing is "the name does not say".
	Role map[string]float64
	// Kind is "return" for an effect return, "parallel" for a parallel copy, "double" for a doubled take, else "".
	Kind string
	// Noise is set for clicks, cues and the like, which belong to no instrument.
	Noise bool
	// Side is "L", "R" or "".
	Side string
	// Stem is the name without extension, numbers, side marks: two files of one stereo source share a stem.
	Stem string
	// Words lists the words that were understood, as found.
	Words []string
}

// Known returns the probability that the name says anything about the role, 0..1.
func (h Hint) Known() float64 {
	var s float64
	for _, p := range h.Role {
		s += p
	}
	return s
}

// Best returns the most probable role and its probability, "" and 0 for an empty hint. Ties go to the first in
// alphabetical order.
func (h Hint) Best() (string, float64) {
	best, p := "", 0.0
	for _, r := range sortedKeys(h.Role) {
		if h.Role[r] > p {
			best, p = r, h.Role[r]
		}
	}
	return best, p
}

type entry struct {
	words []string
	score map[string]float64
	lang  string
}

//go:embed words.tsv
var wordsTSV string

type dictionary struct {
	phrases map[string][]entry // key: words joined by a space
	longest int                // words in the longest phrase
	single  map[string]bool    // every word that is an entry of its own
	sorted  []string           // the same, in order
}

var loadDictionary = sync.OnceValue(func() dictionary {
	d := dictionary{phrases: map[string][]entry{}, single: map[string]bool{}}
	for _, line := range strings.Split(wordsTSV, "\n") {
		if line == "" || line[0] == '#' {
			continue
		}
		col := strings.Split(line, "\t")
		e := entry{words: strings.Fields(col[0]), score: map[string]float64{}}
		for _, pair := range strings.Split(col[1], ",") {
			role, weight, _ := strings.Cut(pair, "=")
			e.score[role], _ = strconv.ParseFloat(weight, 64) // the table's test checks every weight
		}
		if len(col) > 2 {
			e.lang = col[2]
		}
		d.phrases[col[0]] = append(d.phrases[col[0]], e)
		d.longest = max(d.longest, len(e.words))
		if len(e.words) == 1 {
			d.single[col[0]] = true
		}
	}
	d.sorted = sortedKeys(d.single)
	return d
})

// neutral words say where a microphone stood or which take it is; they help to cut glued words apart.
var neutral = setOf("in out top btm bot bottom hi lo low high mid close far di amp mic mono st stereo main ext int smp " +
	"sample take left right inside outside under over front back wide edit comp tune tuned raw print dry")

var sides = map[string]map[string]string{
	"":   {"l": "L", "r": "R", "left": "L", "right": "R", "lft": "L", "rgt": "R", "lt": "L", "rt": "R"},
	"fr": {"g": "L", "d": "R", "gauche": "L", "droite": "R"},
	"it": {"sx": "L", "dx": "R", "sinistra": "L", "destra": "R"},
	"es": {"izq": "L", "der": "R", "izquierda": "L", "derecha": "R"},
	"pt": {"esq": "L", "dir": "R"},
	"de": {"li": "L", "re": "R", "links": "L", "rechts": "R"},
}

// Parse reads the names of one session together, so that its language and its common prefix are known. Names may be
// paths; the last element counts. The result has one hint per name, in order.
func Parse(names []string) []Hint {
	d := loadDictionary()
	tokens := make([][]string, len(names))
	for i, n := range names {
		tokens[i] = tokenize(n, d)
	}
	dropCommonPrefix(tokens, d)
	lang := dominantLanguage(tokens, d)
	out := make([]Hint, len(names))
	for i, t := range tokens {
		out[i] = read(t, lang, d)
	}
	hearSeries(out)
	return out
}

var stripAccents = runes.Remove(runes.In(unicode.Mn))

// tokenize cuts a name into lower-case words without accents: at anything that is not a letter, between letters and
// digits, at a change from lower to upper case, and where known words are glued together.
func tokenize(name string, d dictionary) []string {
	name = path.Base(strings.ReplaceAll(name, `\`, "/"))
	if ext := path.Ext(name); len(ext) <= 5 {
		name = strings.TrimSuffix(name, ext)
	}
	name = strings.NewReplacer("ß", "ss", "œ", "oe", "Œ", "Oe", "æ", "ae", "ø", "o", "ł", "l").Replace(name)
	if plain, _, err := transform.String(transform.Chain(norm.NFKD, stripAccents, norm.NFC), name); err == nil {
		name = plain
	}
	var raw []string
	var cur []rune
	flush := func() {
		if len(cur) > 0 {
			raw = append(raw, string(cur))
			cur = cur[:0]
		}
	}
	rs := []rune(name)
	for i, r := range rs {
		switch {
		case unicode.IsLetter(r):
			if n := len(cur); n > 0 {
				prev := cur[n-1]
				upperAfterLower := unicode.IsUpper(r) && unicode.IsLower(prev)
				lastOfRun := unicode.IsUpper(prev) && unicode.IsUpper(r) && i+1 < len(rs) && unicode.IsLower(rs[i+1]) && n > 1
				if unicode.IsDigit(prev) || upperAfterLower || lastOfRun {
					flush()
				}
			}
			cur = append(cur, r)
		case unicode.IsDigit(r):
			if n := len(cur); n > 0 && !unicode.IsDigit(cur[n-1]) {
				flush()
			}
			cur = append(cur, r)
		default:
			flush()
		}
	}
	flush()
	var out []string
	for i := 0; i < len(raw); i++ {
		w := strings.ToLower(raw[i])
		if i+1 < len(raw) { // 808, B3, DX7, MS20, T1: letters and digits that are one word
			if glued := w + strings.ToLower(raw[i+1]); d.single[glued] && glued != w {
				out = append(out, glued)
				i++
				continue
			}
		}
		if d.single[w] || neutral[w] || len(w) < 3 || unicode.IsDigit(rune(w[0])) {
			out = append(out, w)
			continue
		}
		if parts := segment(w, d); parts != nil {
			out = append(out, parts...)
			continue
		}
		out = append(out, w)
	}
	return out
}

// segment cuts a glued word into known words, fewest parts first; nil if that cannot be done. A single letter is
// accepted only as a side mark at the end.
func segment(w string, d dictionary) []string {
	type cut struct {
		parts int
		from  int
	}
	n := len(w)
	best := make([]cut, n+1)
	for i := 1; i <= n; i++ {
		best[i] = cut{parts: math.MaxInt32}
		for j := 0; j < i; j++ {
			if best[j].parts == math.MaxInt32 {
				continue
			}
			p := w[j:i]
			known := len(p) >= 2 && (d.single[p] || neutral[p]) || i == n && j > 0 && (p == "l" || p == "r")
			if known && best[j].parts+1 < best[i].parts {
				best[i] = cut{best[j].parts + 1, j}
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
	for _, p := range parts {
		if d.single[p] {
			return parts
		}
	}
	return nil
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
		if common == "" {
			return
		}
		speaking := 0
		for _, t := range tokens {
			for _, w := range t[min(1, len(t)):] {
				if d.single[w] {
					speaking++
					break
				}
			}
		}
		if speaking*10 < len(tokens)*6 {
			return
		}
		for i, t := range tokens {
			if len(t) > 1 && t[0] == common {
				tokens[i] = t[1:]
			}
		}
	}
}

// dominantLanguage finds the language most words belong to; "" is English and everything international. A word that
// is in no entry counts a little for the languages whose words it abbreviates.
func dominantLanguage(tokens [][]string, d dictionary) string {
	count := map[string]float64{}
	for _, t := range tokens {
		for i := range t {
			for n := min(d.longest, len(t)-i); n > 0; n-- {
				es := d.phrases[strings.Join(t[i:i+n], " ")]
				for _, e := range es {
					if n > 1 || len(t[i]) > 2 {
						count[e.lang]++
					}
				}
			}
			if w := t[i]; len(w) >= 3 && !d.single[w] && !neutral[w] {
				langs := map[string]bool{}
				for k := sort.SearchStrings(d.sorted, w); k < len(d.sorted) && strings.HasPrefix(d.sorted[k], w); k++ {
					for _, e := range d.phrases[d.sorted[k]] {
						langs[e.lang] = true
					}
				}
				for l := range langs {
					count[l] += 0.5
				}
			}
		}
	}
	// International words are in every session, so any language that reaches a third of their number is the one.
	best := ""
	for _, l := range sortedKeys(count) {
		if l != "" && count[l] >= 1.5 && count[l]*3 >= count[""] && (best == "" || count[l] > count[best]) {
			best = l
		}
	}
	if best == "" && len(tokens) <= 3 {
		for _, l := range sortedKeys(count) {
			if l != "" && count[l] >= 1 && count[l] > count[best] {
				best = l
			}
		}
	}
	return best
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

func setOf(words string) map[string]bool {
	s := map[string]bool{}
	for _, w := range strings.Fields(words) {
		s[w] = true
	}
	return s
}
