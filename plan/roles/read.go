package roles

import (
	"strings"
)

var sides = map[string]map[string]string{
	"":   {"l": "L", "r": "R", "left": "L", "right": "R", "lft": "L", "rgt": "R", "lt": "L", "rt": "R"},
	"fr": {"g": "L", "d": "R", "gauche": "L", "droite": "R", "droit": "R"},
	"it": {"sx": "L", "dx": "R", "sinistra": "L", "destra": "R", "sin": "L", "des": "R"},
	"es": {"izq": "L", "der": "R", "izquierda": "L", "derecha": "R"},
	"pt": {"esq": "L", "dir": "R", "esquerda": "L", "direita": "R"},
	"de": {"li": "L", "re": "R", "links": "L", "rechts": "R"},
	"nl": {"links": "L", "rechts": "R"},
	"sv": {"v": "L", "h": "R", "va": "L", "ho": "R", "vanster": "L", "hoger": "R"},
	"no": {"v": "L", "h": "R", "venstre": "L", "hoyre": "R"},
	"da": {"v": "L", "h": "R", "venstre": "L", "hojre": "R"},
	"fi": {"v": "L", "o": "R", "vas": "L", "oik": "R", "vasen": "L", "oikea": "R"},
	"pl": {"p": "R", "lewy": "L", "prawy": "R", "lewa": "L", "prawa": "R"},
	"cs": {"p": "R", "levy": "L", "pravy": "R", "leva": "L", "prava": "R"},
	"sk": {"p": "R", "lavy": "L", "pravy": "R"},
	"hu": {"b": "L", "j": "R", "bal": "L", "jobb": "R"},
	"ro": {"stg": "L", "dr": "R", "stanga": "L", "dreapta": "R"},
	"hr": {"d": "R", "lijevo": "L", "desno": "R", "levo": "L"},
	"tr": {"sol": "L", "sag": "R"},
	"el": {"arist": "L", "dexia": "R", "dexi": "R", "aristera": "L", "deksia": "R"},
	"ru": {"lev": "L", "prav": "R", "levyi": "L", "pravyi": "R", "levo": "L", "pravo": "R"},
	"uk": {"liv": "L", "prav": "R", "livyi": "L", "pravyi": "R"},
	"ja": {"hidari": "L", "migi": "R"},
}

func side(w, lang string) string {
	if s := sides[""][w]; s != "" {
		return s
	}
	return sides[lang][w]
}

// weakBelow is the score of a name's other words from which its weak words (sections, registers) say nothing.
const weakBelow = 1.5

// read turns the words of one name into a hint.
func read(tokens []string, s session, d dictionary) Hint {
	h := Hint{Role: map[string]float64{}}
	score, weak := map[string]float64{}, map[string]float64{}
	var stem []string
	for i := 0; i < len(tokens); {
		w := tokens[i]
		if sd := side(w, s.lang); sd != "" && i > 0 && (len(score) > 0 || len(w) == 1) {
			h.Side = sd
			i++
			continue
		}
		e, n := match(tokens[i:], s, s.lang == "", d)
		if n == 0 && isNumber(w) {
			i++
			continue
		}
		var part map[string]float64
		switch {
		case n > 0:
		case side(w, s.lang) != "" && i > 0:
			h.Side = side(w, s.lang)
			i++
			continue
		case d.plain[w] != nil || s.titles[w]:
		default:
			e, n = foreign(tokens[i:], w, s, d)
			if n == 0 {
				part = partial(w, s, d)
			}
			if n == 0 && part == nil {
				e, n = match(tokens[i:], s, true, d)
			}
		}
		if n == 0 {
			if part != nil {
				h.Words = append(h.Words, w)
			}
			stem = append(stem, w)
			add(score, part)
			i++
			continue
		}
		if e.score["@weak"] > 0 {
			add(weak, e.score)
		} else {
			if headFirst[s.lang] && plays(score) && e.score["@voice"] > 0 { // Guit. chant: the singer's guitar
				e = entry{lang: e.lang}
			}
			add(score, e.score)
		}
		phrase := strings.Join(tokens[i:i+n], " ")
		h.Words = append(h.Words, phrase)
		if last := tokens[i+n-1]; n > 1 && sides[""][last] != "" { // Stage L: the side is no part of the stem
			h.Side, phrase = sides[""][last], strings.TrimSuffix(phrase, " "+last)
		}
		stem = append(stem, phrase)
		i += n
	}
	if role, letter := initial(tokens, s); role != "" {
		score[role] += 3
		if role == "electric guitar" { // G2 may be any of the band's
			score[role]--
			score["acoustic guitar"]++
		}
		h.Words = append(h.Words, letter)
	}
	h.Stem = strings.Join(stem, " ")
	h.Numbers = numbers(tokens)
	if top(score) < weakBelow {
		add(score, weak)
	}
	if s.headed {
		keepToSection(score, tokens)
	}
	reconcile(score, len(h.Words) < len(stem), s.company)
	setMarks(&h, score)
	settleCompounds(score)
	settle(&h, score)
	return h
}

// initial reads a single letter at the head of a name: T1 is a tom where nothing else speaks, or a tenor in a choir.
func initial(tokens []string, s session) (role, letter string) {
	tokens = tokens[leadingNumbers(tokens):]
	if len(tokens) == 0 || len(tokens[0]) != 1 {
		return "", ""
	}
	numbered := len(tokens) > 1 && isNumber(tokens[1])
	alone := numbered && len(tokens) == 2
	switch w := tokens[0]; {
	case s.scenes["@choir"] && numbered && strings.Contains("satb", w):
		return "backing vocal", w
	case w == "v" && numbered && !s.scenes["@strings"] && len(tokens) > 2 && takes[tokens[2]]: // V1 Dbl: a verse's voice
		return "lead vocal", w
	case w == "g" && numbered && s.scenes["@kit"]:
		return "electric guitar", w
	case s.scenes["@letters"] && w == "k":
		return "kick", w
	case s.scenes["@letters"] && w == "s":
		return "snare", w
	case w == "t" && (alone || numbered && s.scenes["@kit"]),
		(w == "r" || w == "f") && alone && s.scenes["@kit"]: // rack 1, floor 1
		return "tom", w
	}
	return "", ""
}

// takes are words for the layers of a voice.
var takes = setOf("main lead dbl dub double doubles dbls adlib adlibs adlb adlbs stack stk punch punches")

// headFirst are languages that name the thing first and then what qualifies it.
var headFirst = setOf("fr it es pt ro")

// plays tells whether the words so far name an instrument that is no register of voices as well.
func plays(score map[string]float64) bool {
	for _, role := range []string{"electric guitar", "acoustic guitar", "piano", "organ", "synth", "strings", "percussion"} {
		if score[role] >= 2 && score["@voice"] == 0 {
			return true
		}
	}
	return false
}

// leadingNumbers counts the numbers at the head of a name that has more to say.
func leadingNumbers(tokens []string) int {
	n := 0
	for n < len(tokens) && isNumber(tokens[n]) {
		n++
	}
	return n
}

func add(score, more map[string]float64) {
	for role, v := range more {
		score[role] += v
	}
}

// match finds the longest entry at the head of tokens that may be read in the session's scenes and language and how
// many tokens it covers, 0 if none. Words of other languages count only when foreign is set, and only the strong ones.
func match(tokens []string, s session, foreign bool, d dictionary) (entry, int) {
	for n := min(d.longest, len(tokens)); n > 0; n-- {
		es := d.phrases[strings.Join(tokens[:n], " ")]
		for _, e := range es {
			if s.scenes[e.lang] {
				return e, n
			}
		}
		for _, e := range es { // the session's own language first
			if e.lang != "" && e.lang == s.lang {
				return e, n
			}
		}
		for _, e := range es {
			if e.lang == "" {
				return e, n
			}
		}
		if !foreign || n == 1 && (d.plain[tokens[0]] != nil || len(tokens[0]) < 3) {
			continue
		}
		for _, e := range es {
			if e.lang[0] != '@' && strong(e.score) {
				return e.doubted(tokens[:n]), n
			}
		}
	}
	return entry{}, 0
}

// doubted weakens a short word of a language that is not the list's.
func (e entry) doubted(words []string) entry {
	const doubt, short = 0.7, 3
	if len(words) > 1 || len(words[0]) > short {
		return e
	}
	out := entry{map[string]float64{}, e.lang}
	for role, v := range e.score {
		out.score[role] = doubt * v
	}
	return out
}

// foreign reads a long word that another language knows for certain, before anything is guessed.
func foreign(tokens []string, w string, s session, d dictionary) (entry, int) {
	const long = 5
	if len(w) < long {
		return entry{}, 0
	}
	return match(tokens, s, true, d)
}

func strong(score map[string]float64) bool {
	for role, v := range score {
		if v >= 2.5 || role[0] == '@' && v >= 1 {
			return true
		}
	}
	return false
}
