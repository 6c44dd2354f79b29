package roles

import (
	"math"
	"sort"
	"strings"
	"unicode"
)

// unsaid is the score of "the name does not say", against which the words are weighed. Chosen so that a word of
// weight 3 leaves one part in eight to the ears and one of weight 4 one in twenty.
const unsaid = 1.0

// drumRoles are the roles a room or overhead word may stand beside without changing its meaning.
var drumRoles = setOf("kick snare hat tom overhead cymbal room drums")

// read turns the words of one name into a hint.
func read(tokens []string, lang string, d dictionary) Hint {
	h := Hint{Role: map[string]float64{}}
	score := map[string]float64{}
	var stem []string
	for i := 0; i < len(tokens); {
		w := tokens[i]
		e, n := match(tokens[i:], lang, lang == "", d)
		if n == 0 && unicode.IsDigit(rune(w[0])) {
			i++
			continue
		}
		if n == 0 {
			if s := side(w, lang); s != "" && i > 0 {
				h.Side = s
				i++
				continue
			}
			part := partial(w, lang, d)
			if part == nil {
				e, n = match(tokens[i:], lang, true, d)
			}
			if n == 0 {
				if part != nil {
					h.Words = append(h.Words, w)
				}
				stem = append(stem, w)
				for role, v := range part {
					score[role] += v
				}
				i++
				continue
			}
		}
		for role, v := range e.score {
			score[role] += v
		}
		phrase := strings.Join(tokens[i:i+n], " ")
		h.Words = append(h.Words, phrase)
		stem = append(stem, phrase)
		i += n
	}
	// T1, T2: toms by the letter alone, where nothing else speaks
	if len(tokens) == 2 && tokens[0] == "t" && unicode.IsDigit(rune(tokens[1][0])) {
		score["tom"] += 3
		h.Words = append(h.Words, "t")
	}
	h.Stem = strings.Join(stem, " ")
	setMarks(&h, score)
	settleCompounds(score)
	settle(&h, score)
	return h
}

// match finds the longest entry at the head of tokens that may be read in the session's language and how many tokens
// it covers, 0 if none. Words of other languages count only when foreign is set, and only the strong ones.
func match(tokens []string, lang string, foreign bool, d dictionary) (entry, int) {
	for n := min(d.longest, len(tokens)); n > 0; n-- {
		es := d.phrases[strings.Join(tokens[:n], " ")]
		for _, e := range es { // the session's own language first
			if e.lang != "" && e.lang == lang {
				return e, n
			}
		}
		for _, e := range es {
			if e.lang == "" {
				return e, n
			}
		}
		for _, e := range es {
			for _, v := range e.score {
				if foreign && v >= 2.5 {
					return e, n
				}
			}
		}
	}
	return entry{}, 0
}

// partial reads a word that is not in the table: one that begins with a known word (inflections, at most three letters
// more), ends with one (compounds, at least three letters before), or is the beginning of known words (abbreviations
// of at least three letters). All count weaker than the word itself; an abbreviation of words with different meanings
// counts for each of them in part.
func partial(w, lang string, d dictionary) map[string]float64 {
	const weaker = 0.8
	for n := len(w) - 1; n >= 4; n-- {
		for _, p := range []string{w[len(w)-n:], w[:n]} {
			compound := strings.HasSuffix(w, p) && len(w)-n >= 3
			inflected := strings.HasPrefix(w, p) && len(w)-n <= 3
			if !d.single[p] || !compound && !inflected {
				continue
			}
			if e, ok := match([]string{p}, lang, true, d); ok > 0 {
				out := map[string]float64{}
				for role, v := range e.score {
					if v >= 2 {
						out[role] = v * weaker
					}
				}
				if len(out) > 0 {
					return out
				}
			}
		}
	}
	return abbreviated(w, lang, d)
}

// abbreviated averages the scores of all words, in the session's language or in any, that begin with w; the less is
// cut off, the more a word counts.
func abbreviated(w, lang string, d dictionary) map[string]float64 {
	const weaker = 0.85
	if len(w) < 3 {
		return nil
	}
	for _, own := range []bool{true, false} {
		sum, n := map[string]float64{}, 0.0
		for k := sort.SearchStrings(d.sorted, w); k < len(d.sorted) && strings.HasPrefix(d.sorted[k], w); k++ {
			for _, e := range d.phrases[d.sorted[k]] {
				if (e.lang == lang && lang != "") != own {
					continue
				}
				near := float64(len(w)) / float64(len(d.sorted[k]))
				n += near * near
				for role, v := range e.score {
					sum[role] += near * near * v
				}
			}
		}
		if n > 0 {
			for role := range sum {
				sum[role] *= weaker / n
			}
			return sum
		}
	}
	return nil
}

func side(w, lang string) string {
	if s := sides[""][w]; s != "" {
		return s
	}
	return sides[lang][w]
}

// setMarks takes the marks out of the scores and sets the kind.
func setMarks(h *Hint, score map[string]float64) {
	const enough = 0.6
	switch {
	case score["@return"] >= enough:
		h.Kind = "return"
	case score["@parallel"] >= enough:
		h.Kind = "parallel"
	case score["@double"] >= enough:
		h.Kind = "double"
	}
	noise := score["@noise"]
	for role := range score {
		if role[0] == '@' {
			delete(score, role)
		}
	}
	var top float64
	for _, v := range score {
		top = math.Max(top, v)
	}
	h.Noise = noise > 0 && noise >= top
	if h.Noise {
		clear(score)
	}
}

// settleCompounds reads words that qualify one another: "Piano Room" is a piano and "Organ OH" an organ, "Kick Room" is
// a drum room, "Bass Synth" a bass.
func settleCompounds(score map[string]float64) {
	var other float64
	for role, v := range score {
		if !drumRoles[role] {
			other = math.Max(other, v)
		}
	}
	for _, where := range []string{"room", "overhead"} {
		if other >= 2 && score[where] > 0 {
			score[where] *= 0.1
		}
	}
	if score["room"] > 0 && score["drums"] > 0 {
		score["drums"] = 0
	}
	if score["bass"] >= 2 && score["synth"] > 0 { // a synth bass is a bass
		score["synth"] *= 0.2
	}
}

// settle turns scores into probabilities: p(role) = exp(score) / (exp(unsaid) + sum of exp(score)).
func settle(h *Hint, score map[string]float64) {
	total := math.Exp(unsaid)
	for _, role := range sortedKeys(score) {
		if score[role] > 0 {
			total += math.Exp(score[role])
		}
	}
	for role, v := range score {
		if v > 0 {
			h.Role[role] = math.Exp(v) / total
		}
	}
}
