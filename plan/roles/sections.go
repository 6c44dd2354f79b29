package roles

import "strings"

// Many engineers head every name with its section: DR_Stack, GT_Harm, KY_Bells. Where a whole list is written so, the
// head is where the engineer means the track to go, and outweighs words that are only a leaning elsewhere; a word that
// is an instrument by itself stands (DR_Conga, SY_Bass). Common practice, no source.

// sectionHeads are heads of names, and the roles found in such a section.
var sectionHeads = func() map[string]map[string]bool {
	kit := "kick,snare,tom,hat,cymbal,overhead,room,drums"
	out := map[string]map[string]bool{}
	for _, s := range []struct{ heads, roles string }{
		{"d dr drm drms drum drums bat bateria batterie schlz dru", kit},
		{"p pc prc prk perc percussion percu", "percussion"},
		{"b bs bas bass basse basso bajo baixo", "bass"},
		{"g gt gtr gtrs git guit guitar guitars guitare guitares chit chitarra eg ag egtr agtr", "electric guitar,acoustic guitar"},
		{"k ky kys key keys keyb clav tast klav teclas", "piano,organ,synth"},
		{"sy syn syns synth synths", "synth"},
		{"str strg strgs strings cordes archi", "strings"},
		{"hn hrn hrns horn horns br brs brass ww winds cuivres fiati", "horns"},
		{"v vx vox voc vocs vocal vocals voz voix voce ges", "lead vocal,backing vocal"},
		{"bv bvs bgv bgvs chor choeurs coro cori", "backing vocal"},
	} {
		roles := map[string]bool{}
		for _, r := range strings.Split(s.roles, ",") {
			roles[r] = true
		}
		for h := range setOf(s.heads) {
			out[h] = roles
		}
	}
	return out
}()

const (
	sectionWords  = 3   // different heads, each at two names or more, that make a list one by sections
	sectionShare  = 0.6 // share of the names that have such a head
	beyondSection = 0.5 // what a leaning towards another section counts for
	byItself      = 3.6 // score from which a word is an instrument whatever section it is in
)

// bySections tells whether the list heads its names with sections.
func bySections(tokens [][]string) bool {
	count := map[string]int{}
	headed := 0
	for _, t := range tokens {
		if h := head(t); sectionHeads[h] != nil {
			count[h]++
			headed++
		}
	}
	kinds := 0
	for _, n := range count {
		if n >= 2 {
			kinds++
		}
	}
	return kinds >= sectionWords && float64(headed) >= sectionShare*float64(len(tokens))
}

// head is the first word of a name that has more to say than this word, "" for others.
func head(tokens []string) string {
	tokens = tokens[leadingNumbers(tokens):]
	if len(tokens) < 2 {
		return ""
	}
	return tokens[0]
}

// keepToSection weakens what speaks for another section than the one the name begins with.
func keepToSection(score map[string]float64, tokens []string) {
	section := sectionHeads[head(tokens)]
	if section == nil {
		return
	}
	var within float64
	for role, v := range score {
		if section[role] {
			within = max(within, v)
		}
	}
	if within == 0 {
		return
	}
	for role, v := range score {
		if role[0] != '@' && !section[role] && v < byItself {
			score[role] = beyondSection * v
		}
	}
}
