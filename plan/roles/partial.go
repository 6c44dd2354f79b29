package roles

import "strings"

// partial reads a word that is not in the tables: a known word misspelt, one that begins or ends with a known word
// (inflections, compounds), the beginning of known words or their consonants (abbreviations). All count weaker than
// the word itself. It returns nil for a word that resembles nothing.
func partial(w string, s session, d dictionary) map[string]float64 {
	if len(w) < 3 {
		return nil
	}
	if out := misspelt(w, s, d); out != nil {
		return out
	}
	if out := compounded(w, s, d); out != nil {
		return out
	}
	if out := abbreviated(w, d.withPrefix(w), s, d); out != nil {
		return out
	}
	if bones(w) == w {
		return abbreviated(w, d.bones[w], s, d)
	}
	return nil
}

// compounded finds a known word of at least four letters at either end: with at most three letters more behind it (an
// inflection), or at least three before it (a compound), or any number behind a word of at least five.
func compounded(w string, s session, d dictionary) map[string]float64 {
	const weaker = 0.8
	for n := len(w) - 1; n >= 4; n-- {
		for _, p := range []string{w[len(w)-n:], w[:n]} {
			compound := strings.HasSuffix(w, p) && len(w)-n >= 3
			inflected := strings.HasPrefix(w, p) && (len(w)-n <= 3 || n >= 5)
			if !d.single[p] || !compound && !inflected {
				continue
			}
			if e, ok := match([]string{p}, s, n >= 5, d); ok > 0 {
				out := map[string]float64{}
				for role, v := range e.score {
					if v >= 2 || role[0] == '@' {
						out[role] = v * weaker
					}
				}
				if len(out) > 0 {
					return out
				}
			}
		}
	}
	return nil
}

// abbreviated averages the scores of the words that w may stand for: those of the session's language, failing them
// the international ones, failing them any. The less is cut off, the more a word counts; little of a long word, and
// any of a foreign one, is a guess. Marks need four letters ("rit" may be many things) and no foreign word.
func abbreviated(w string, words []string, s session, d dictionary) map[string]float64 {
	const weaker, guess = 0.85, 0.6
	for _, langs := range []int{own, international, other} {
		sum, n, closest := map[string]float64{}, 0.0, 0.0
		for _, word := range words {
			near := float64(len(w)) / float64(len(word))
			for _, e := range d.phrases[word] {
				if e.from(s) != langs {
					continue
				}
				likely := near * near * near * near
				n += likely
				closest = max(closest, near)
				for role, v := range e.score {
					if role[0] != '@' || len(w) >= 4 && langs != other {
						sum[role] += likely * v
					}
				}
			}
		}
		if n == 0 {
			continue
		}
		doubt := weaker
		if langs != own {
			doubt *= 0.1 + 0.95*closest
		}
		if langs == other {
			doubt *= guess
		}
		for role := range sum {
			sum[role] *= doubt / n
		}
		return sum
	}
	return nil
}

// Where an entry's language stands to the session's.
const (
	own = iota
	international
	other
	scenic // belongs to a scene
)

func (e entry) from(s session) int {
	switch {
	case strings.HasPrefix(e.lang, "@"):
		return scenic
	case e.lang == "":
		return international
	case e.lang == s.lang:
		return own
	}
	return other
}

// misspelt finds words of at least five letters that differ by one slip: a letter more, less, other, or two swapped.
func misspelt(w string, s session, d dictionary) map[string]float64 {
	const weaker, long = 0.75, 5
	if len(w) < long {
		return nil
	}
	for _, word := range d.starts[w[0]] {
		if len(word) >= long && oneSlip(w, word) {
			if e, n := match([]string{word}, s, false, d); n > 0 {
				out := map[string]float64{}
				for role, v := range e.score {
					out[role] = weaker * v
				}
				return out
			}
		}
	}
	return nil
}

func oneSlip(a, b string) bool {
	if len(a) > len(b) {
		a, b = b, a
	}
	i := 0
	for i < len(a) && a[i] == b[i] {
		i++
	}
	switch len(b) - len(a) {
	case 0:
		if i == len(a) {
			return true
		}
		swapped := i+1 < len(a) && a[i] == b[i+1] && a[i+1] == b[i] && a[i+2:] == b[i+2:]
		return swapped || a[i+1:] == b[i+1:]
	case 1:
		return a[i:] == b[i+1:]
	}
	return false
}
