package roles

import (
	"embed"
	"sort"
	"strconv"
	"strings"
	"sync"
)

// The tables: one line holds scores, languages and words, apart by tabs.
//
//	electric guitar=2.6,acoustic guitar=0.9	de	gitarre, gitarren
//
// A weight of 3 settles the role by itself; 1 is a leaning. Several words may form one entry; the longest entry wins.
// Languages are two-letter codes apart by blanks, or "-" for any. A scene ("@winds", see survey) in their place makes
// an entry that counts only there. Scores that start with @ are marks:
//
//	@return an effect return    @parallel a parallel copy    @double a layer    @noise not music
//
// and, for reconcile, words whose meaning hangs on their company:
//
//	@part a voice's or an instrument's range    @solo, @lead    @upright    @harp    @arp    @bg    @mic a microphone's place
//	@pair a pair of main microphones    @hall    @reverse    @fx    @comp    @voice    @slap
//	@main the main microphones    @weak a section, register, way of playing or group of people, which counts where nothing else speaks
//
// The score "-" is for words that say nothing of the role: sections, takes, people.
//
//go:embed words/*.tsv
var tables embed.FS

type entry struct {
	score map[string]float64
	lang  string
}

type dictionary struct {
	phrases map[string][]entry  // key: words joined by a space
	longest int                 // words in the longest phrase
	single  map[string]bool     // every word that is an entry of its own outside scenes
	plain   map[string][]string // words that say nothing, and their languages
	sorted  []string            // single, in order
	bones   map[string][]string
	starts  map[byte][]string // single, by first letter
}

// row is one line of a table.
type row struct {
	score map[string]float64
	langs []string
	words []string
}

// parseRow reads one line of a table; ok is false for blank lines, comments and lines that are not well formed.
func parseRow(line string) (r row, ok bool) {
	if line == "" || line[0] == '#' {
		return r, false
	}
	col := strings.Split(line, "\t")
	if len(col) != 3 {
		return r, false
	}
	r.score = map[string]float64{}
	if col[0] != "-" {
		for _, pair := range strings.Split(col[0], ",") {
			role, weight, _ := strings.Cut(pair, "=")
			v, err := strconv.ParseFloat(weight, 64)
			if err != nil {
				return r, false
			}
			r.score[role] = v
		}
	}
	r.langs = strings.Fields(col[1])
	for _, w := range strings.Split(col[2], ",") {
		r.words = append(r.words, strings.ToLower(fold(strings.TrimSpace(w))))
	}
	return r, true
}

func tableLines() []string {
	var lines []string
	files, _ := tables.ReadDir("words") // embedded: cannot fail
	for _, f := range files {
		text, _ := tables.ReadFile("words/" + f.Name())
		lines = append(lines, strings.Split(string(text), "\n")...)
	}
	return lines
}

var loadDictionary = sync.OnceValue(func() dictionary {
	d := dictionary{phrases: map[string][]entry{}, single: map[string]bool{}, plain: map[string][]string{},
		bones: map[string][]string{}, starts: map[byte][]string{}}
	for _, line := range tableLines() {
		r, ok := parseRow(line) // the tables' test checks that every line is well formed
		if !ok {
			continue
		}
		for _, w := range r.words {
			if len(r.score) == 0 {
				d.plain[w] = append(d.plain[w], r.langs...)
				continue
			}
			for _, lang := range r.langs {
				d.add(w, entry{r.score, strings.TrimPrefix(lang, "-")})
			}
		}
	}
	d.sorted = sortedKeys(d.single)
	for _, w := range d.sorted {
		d.starts[w[0]] = append(d.starts[w[0]], w)
		if b := bones(w); len(b) >= 3 && b != w {
			d.bones[b] = append(d.bones[b], w)
		}
	}
	return d
})

func (d *dictionary) add(w string, e entry) {
	d.phrases[w] = append(d.phrases[w], e)
	n := strings.Count(w, " ") + 1
	d.longest = max(d.longest, n)
	if n == 1 && !strings.HasPrefix(e.lang, "@") {
		d.single[w] = true
	}
}

// bones is the first letter of a word and the consonants after it, the way words are often shortened: trmpt, grtr.
func bones(w string) string {
	return w[:1] + strings.Map(func(r rune) rune {
		if strings.ContainsRune("aeiouy", r) {
			return -1
		}
		return r
	}, w[1:])
}

// withPrefix returns the known words that begin with w.
func (d *dictionary) withPrefix(w string) []string {
	from := sort.SearchStrings(d.sorted, w)
	to := from
	for to < len(d.sorted) && strings.HasPrefix(d.sorted[to], w) {
		to++
	}
	return d.sorted[from:to]
}
