package roles

import (
	"strings"
	"unicode"

	"golang.org/x/text/runes"
	"golang.org/x/text/transform"
	"golang.org/x/text/unicode/norm"
)

// latin writes Cyrillic and Greek letters, and Latin ones that no accent explains, the way people type them on a Latin
// keyboard. Letters with accents are looked up after the accent is gone. The tables go through the same fold, so an
// entry in its own script matches the usual typed form too.
var latin = map[rune]string{
	'ß': "ss", 'œ': "oe", 'æ': "ae", 'ø': "o", 'ł': "l", 'đ': "d", 'ð': "d", 'þ': "th", 'ı': "i",
	'а': "a", 'б': "b", 'в': "v", 'г': "g", 'д': "d", 'е': "e", 'ж': "zh", 'з': "z", 'и': "i", 'к': "k", 'л': "l",
	'м': "m", 'н': "n", 'о': "o", 'п': "p", 'р': "r", 'с': "s", 'т': "t", 'у': "u", 'ф': "f", 'х': "h", 'ц': "ts",
	'ч': "ch", 'ш': "sh", 'щ': "sh", 'ъ': "", 'ы': "y", 'ь': "", 'э': "e", 'ю': "yu", 'я': "ya",
	'і': "i", 'є': "ye", 'ґ': "g", 'ђ': "dj", 'ј': "j", 'љ': "lj", 'њ': "nj", 'ћ': "c", 'џ': "dz",
	'α': "a", 'β': "v", 'γ': "g", 'δ': "d", 'ε': "e", 'ζ': "z", 'η': "i", 'θ': "th", 'ι': "i", 'κ': "k", 'λ': "l",
	'μ': "m", 'ν': "n", 'ξ': "x", 'ο': "o", 'π': "p", 'ρ': "r", 'σ': "s", 'ς': "s", 'τ': "t", 'υ': "y", 'φ': "f",
	'χ': "ch", 'ψ': "ps", 'ω': "o",
}

var stripAccents = runes.Remove(runes.In(unicode.Mn))

// fold takes the accents off and writes other alphabets in Latin letters, keeping upper and lower case.
func fold(s string) string {
	if isASCII(s) {
		return s
	}
	if plain, _, err := transform.String(transform.Chain(norm.NFKD, stripAccents, norm.NFC), s); err == nil {
		s = plain
	}
	var b strings.Builder
	for _, r := range s {
		t, ok := latin[unicode.ToLower(r)]
		switch {
		case !ok:
			b.WriteRune(r)
		case unicode.IsUpper(r):
			b.WriteString(strings.ToUpper(t))
		default:
			b.WriteString(t)
		}
	}
	return b.String()
}

func isASCII(s string) bool {
	for i := range len(s) {
		if s[i] >= 0x80 {
			return false
		}
	}
	return true
}
