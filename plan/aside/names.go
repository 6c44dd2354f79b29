package aside

import (
	"path"
	"slices"
	"strings"
	"unicode"

	"foldout/plan/roles"
)

// What names say of a file that is no track (common practice, no source). Entries of several words stand for words in a row.
var kindWords = []struct {
	kind  Kind
	words []string
}{
	{Click, []string{"click", "clicks", "clk", "clik", "klick", "klik", "clix", "clicktrack", "metronome", "metronom", "metro", "metronomo", "metronome", "count in",
		"countin", "count off", "countoff", "precount", "einzahler", "conteo", "claqueta"}},
	{Talkback, []string{"talkback", "talk back", "tb", "tbk", "slate", "slates", "talk", "tb mic", "regie", "comm", "comms", "kommando", "ordres", "slate mic", "cue mic"}},
	{Reference, []string{"reference", "references", "ref", "refs", "referenz", "referencia", "riferimento", "ref song", "ref track"}},
	{Tone, []string{"tone", "tones", "sine sweep", "log sweep", "test sweep", "sine 1k", "sinus 1k", "1k sine", "test tone", "1k", "1khz", "sine", "sinus", "lineup", "line up", "pilot", "pegelton", "testton", "smpte", "ltc", "timecode"}},
	{Noise, []string{"room tone", "roomtone", "pink noise", "pinknoise", "white noise", "whitenoise", "pink", "raumton", "atmo", "wild track", "silence", "noise", "noisefloor"}},
	{Print, []string{"print", "prints", "printed", "mix print", "print mix", "mixprint", "2trk", "2track", "two track", "master", "mastered", "premaster"}},
	{Mix, []string{"mix", "mixdown", "mixdwn", "roughmix", "rough mix", "rough", "ruff", "fullmix", "full mix", "2mix", "2 mix", "stereo mix", "bounce", "bounced", "downmix", "mixe",
		"mischung", "mezcla", "missaggio", "mixage", "demo mix", "main mix", "monitor mix", "board mix", "desk mix", "stereo out", "output", "song"}},
	{Stem, append([]string{"stem", "stems", "instr", "playback", "backing track", "backing trax", "band mix", "all music", "music stem", "music"}, versions...)},
}

// nameKind reads a kind from a name, "" where it says none. A name that tells an instrument tells no mix ("Kick Click" is
// a microphone near a beater, "Drum Mix" a bus); one that tells a stem may tell its instruments as well.
func nameKind(file string, h roles.Hint) Kind {
	words := split(file)
	var found Kind
	longest := 0
	for _, k := range kindWords {
		for _, w := range k.words {
			n := strings.Count(w, " ") + 1
			if n > longest && contains(words, strings.Fields(w)) {
				found, longest = k.kind, n
			}
		}
	}
	if h.Known() > 0.5 && found != Stem && longest < 2 && !onlyNumbers(words, longest) {
		return ""
	}
	return found
}

// versions are the words for a song without some of its parts, as it is handed on beside the mix (common practice, no source).
var versions = []string{"instrumental", "instr mix", "no vocals", "no vox", "novox", "vocals only", "vox only", "without vocals", "music only", "ohne gesang", "sans voix",
	"sin voz", "senza voce", "tv mix", "tv track", "tvmix", "acapella", "acappella", "a cappella", "minus one", "minusone", "karaoke"}

// isVersion tells whether a name holds one of versions.
func isVersion(file string) bool {
	words := split(file)
	return slices.ContainsFunc(versions, func(v string) bool { return contains(words, strings.Fields(v)) })
}

// onlyNumbers tells whether a name holds nothing but numbers and the given count of other words.
func onlyNumbers(words []string, others int) bool {
	for _, w := range words {
		if strings.TrimLeft(w, "0123456789") != "" {
			others--
		}
	}
	return others >= 0
}

func contains(words, run []string) bool {
	for i := 0; i+len(run) <= len(words); i++ {
		if strings.Join(words[i:i+len(run)], " ") == strings.Join(run, " ") {
			return true
		}
	}
	return false
}

// split takes a name without folder and extension apart: at signs and blanks, between small and capital letters, and between
// letters and numbers unless the number leads ("2mix", "1k").
func split(file string) []string {
	name := strings.TrimSuffix(path.Base(file), path.Ext(file))
	var words []string
	var word []rune
	flush := func() {
		if len(word) > 0 {
			words = append(words, strings.ToLower(string(word)))
			word = nil
		}
	}
	var last rune
	for _, r := range name {
		switch {
		case !unicode.IsLetter(r) && !unicode.IsDigit(r):
			flush()
		case unicode.IsUpper(r) && unicode.IsLower(last), unicode.IsDigit(r) && unicode.IsLetter(last):
			flush()
			word = append(word, r)
		default:
			word = append(word, r)
		}
		last = r
	}
	flush()
	return words
}

// trackName is a file's name as people say it.
func trackName(file string) string { return strings.TrimSuffix(path.Base(file), path.Ext(file)) }
