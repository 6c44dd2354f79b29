package demo

import "strings"

// Formants F1 to F3 in hertz of American English vowels, men and women, after Peterson and Barney (JASA 24, 1952).
var vowels = map[string][2][3]float64{
	"i":  {{270, 2290, 3010}, {310, 2790, 3310}}, // heed
	"I":  {{390, 1990, 2550}, {430, 2480, 3070}}, // hid
	"e":  {{530, 1840, 2480}, {610, 2330, 2990}}, // head
	"ae": {{660, 1720, 2410}, {860, 2050, 2850}}, // had
	"a":  {{730, 1090, 2440}, {850, 1220, 2810}}, // hod
	"o":  {{570, 840, 2410}, {590, 920, 2710}},   // hawed
	"U":  {{440, 1020, 2240}, {470, 1160, 2680}}, // hood
	"u":  {{300, 870, 2240}, {370, 950, 2670}},   // who'd
	"V":  {{640, 1190, 2390}, {760, 1400, 2780}}, // hud
	"er": {{490, 1350, 1690}, {500, 1640, 1960}}, // heard
}

// diphthongs glide from one vowel to another.
var diphthongs = map[string][2]string{"ai": {"a", "I"}, "ei": {"e", "I"}, "ou": {"o", "U"}}

// consonant says what the mouth does before or after a vowel. Values common practice, no source.
type consonant struct {
	seconds  float64
	voice    float64    // level of the voice meanwhile, 0..1
	formants [3]float64 // where the resonances start from, 0: stay
	noiseHz  float64    // of the hiss or burst, 0: none
	q        float64
	noise    float64 // level
	burst    bool    // a silence first, then a short burst
}

var consonants = map[string]consonant{
	"m": {seconds: 0.07, voice: 0.35, formants: [3]float64{260, 1100, 2200}},
	"n": {seconds: 0.06, voice: 0.35, formants: [3]float64{280, 1500, 2500}},
	"l": {seconds: 0.06, voice: 0.5, formants: [3]float64{360, 1200, 2700}},
	"r": {seconds: 0.07, voice: 0.55, formants: [3]float64{350, 1150, 1600}},
	"v": {seconds: 0.06, voice: 0.3, formants: [3]float64{300, 1100, 2200}, noiseHz: 6500, q: 0.6, noise: 0.05},
	"D": {seconds: 0.05, voice: 0.3, formants: [3]float64{300, 1400, 2500}, noiseHz: 6000, q: 0.6, noise: 0.04},
	"s": {seconds: 0.11, noiseHz: 7200, q: 1.3, noise: 0.30},
	"f": {seconds: 0.10, noiseHz: 7500, q: 0.5, noise: 0.07},
	"h": {seconds: 0.06, noiseHz: 1600, q: 0.5, noise: 0.05},
	"t": {seconds: 0.09, noiseHz: 5000, q: 0.8, noise: 0.30, burst: true},
	"k": {seconds: 0.09, noiseHz: 2200, q: 1.2, noise: 0.26, burst: true},
	"p": {seconds: 0.08, noiseHz: 1100, q: 0.6, noise: 0.15, burst: true},
	"b": {seconds: 0.06, voice: 0.12, formants: [3]float64{250, 900, 2200}, noiseHz: 800, q: 0.6, noise: 0.08, burst: true},
	"d": {seconds: 0.06, voice: 0.12, formants: [3]float64{250, 1700, 2600}, noiseHz: 4000, q: 0.8, noise: 0.12, burst: true},
	"g": {seconds: 0.06, voice: 0.12, formants: [3]float64{250, 1900, 2300}, noiseHz: 2000, q: 1, noise: 0.12, burst: true},
}

// syllable is what is sung on one note.
type syllable struct {
	onset    []consonant
	from, to [2][3]float64 // vowel, and where it glides to; by man, woman
	coda     []consonant
}

// parseSyllable reads a syllable such as "l.ai.t": consonants, one vowel, consonants.
func parseSyllable(s string) syllable {
	var out syllable
	seen := false
	for _, p := range strings.Split(s, ".") {
		if c, ok := consonants[p]; ok {
			if seen {
				out.coda = append(out.coda, c)
			} else {
				out.onset = append(out.onset, c)
			}
			continue
		}
		seen = true
		from, to := p, p
		if d, ok := diphthongs[p]; ok {
			from, to = d[0], d[1]
		}
		out.from, out.to = vowels[from], vowels[to]
	}
	return out
}

// sung is a note with its syllable.
type sung struct {
	note
	text string
}

// melody is the lead vocal: "Light the lamps along the harbour, keep a candle for the rain; river take me slowly
// home, river take me home again, home."
var melody = []sung{
	{note{8, 0.5, 62, 0.75}, "l.ai.t"}, {note{8.5, 0.5, 62, 0.65}, "D.V"}, {note{9, 0.5, 64, 0.8}, "l.ae.m.p.s"}, {note{9.5, 0.5, 67, 0.7}, "V"},
	{note{10, 0.5, 67, 0.8}, "l.o.n"}, {note{10.5, 0.5, 69, 0.65}, "D.V"}, {note{11, 1, 71, 0.85}, "h.a.r"}, {note{12, 1.6, 67, 0.7}, "b.er"},
	{note{16, 0.5, 64, 0.75}, "k.i.p"}, {note{16.5, 0.5, 64, 0.65}, "V"}, {note{17, 0.5, 67, 0.8}, "k.ae.n"}, {note{17.5, 0.5, 69, 0.7}, "d.V.l"},
	{note{18, 0.5, 67, 0.75}, "f.o.r"}, {note{18.5, 0.5, 64, 0.65}, "D.V"}, {note{19, 2.2, 69, 0.85}, "r.ei.n"},
	{note{24, 1, 72, 0.95}, "r.I"}, {note{25, 0.5, 71, 0.8}, "v.er"}, {note{25.5, 1, 74, 1}, "t.ei.k"}, {note{26.5, 0.5, 72, 0.85}, "m.i"},
	{note{27, 1, 69, 0.9}, "s.l.ou"}, {note{28, 0.5, 69, 0.8}, "l.i"}, {note{28.5, 2.5, 71, 0.95}, "h.ou.m"},
	{note{32, 1, 72, 0.95}, "r.I"}, {note{33, 0.5, 71, 0.8}, "v.er"}, {note{33.5, 1, 74, 1}, "t.ei.k"}, {note{34.5, 0.5, 72, 0.85}, "m.i"},
	{note{35, 1, 69, 0.9}, "h.ou.m"}, {note{36, 0.5, 67, 0.8}, "V"}, {note{36.5, 2.3, 67, 0.9}, "g.e.n"},
	{note{40, 3.4, 71, 0.9}, "h.ou.m"},
}

// harmonyPart follows the melody's words in the chorus so many chord tones below it, and sings one vowel on the
// chords of the verse.
func harmonyPart(below int, vowel string, from, low, high float64) []sung {
	reach := func(p float64) float64 {
		for p < low {
			p += 12
		}
		for p > high {
			p -= 12
		}
		return p
	}
	var out []sung
	for _, c := range harmony {
		if c.beat >= from && c.beat < chorus {
			p := 74.0
			for range below {
				p = c.toneBelow(p, 3)
			}
			out = append(out, sung{note{c.beat, c.beats - 0.2, reach(p), 0.6}, vowel})
		}
	}
	for _, m := range melody {
		if m.beat < chorus {
			continue
		}
		c := chordAt(m.beat)
		for range below {
			m.pitch = c.toneBelow(m.pitch, 3)
		}
		m.pitch = reach(m.pitch)
		out = append(out, m)
	}
	return out
}
