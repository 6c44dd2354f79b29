package roles

import "strings"

// session is what the list as a whole tells about the way to read one name.
type session struct {
	lang    string          // language most words belong to; "" is English and everything international
	scenes  map[string]bool // kinds of list in which short codes have a meaning of their own
	titles  map[string]bool // unknown words that come back so often that they are a title, not an instrument
	company map[string]int  // names that say each role by themselves
	headed  bool            // the names begin with their section
}

// codes are the short words that betray a scene: so many different ones make it.
var codes = []struct {
	scene string
	least int
	words map[string]bool
}{
	{"@winds", 3, setOf("as ts bs bari tp tpt trp trpt tbn tbns hn hrn fl flt picc pic cl bcl ob eh bsn cbsn fg tba tub flug " +
		"flg btb cnt euph trom troms cornet cornets trumpet trombone sax tuba horn")},
	{"@saxes", 2, setOf("as ts ss asx tsx")},
	{"@strings", 2, setOf("vn vln vl va vla vc vlc vcl cello cellos celli viola violas violin violins violon violons violoncelle violoncelles " +
		"violini violoncelli viole violines violonchelo violonchelos violas violine violinen bratsche bratschen celli fiolin")},
	{"@samba", 3, setOf("surdo surdos repinique repique tamborim tamborins tamborims cuica ganza pandeiro agogo reco chocalho caixeta")},
	{"@kit", 2, setOf("kick kik kck kd bd sn snr sd snare hh hat hats hihat oh ohs overhead overheads bombo caja cassa " +
		"rullante trommel")},
}

func survey(tokens [][]string, d dictionary) session {
	s := session{lang: dominantLanguage(tokens, d), scenes: map[string]bool{}, titles: map[string]bool{}, headed: bySections(tokens)}
	found := map[string]int{}
	initial := map[string]bool{}
	for _, t := range tokens {
		once := map[string]bool{}
		for _, w := range t {
			if !once[w] {
				once[w] = true
				found[w]++
			}
		}
		t = t[leadingNumbers(t):]
		if len(t) > 0 && len(t[0]) == 1 {
			initial[t[0]] = true
			if len(t) > 1 && isNumber(t[1]) {
				initial[t[0]+"1"] = true
			}
		}
	}
	for _, c := range codes {
		n := 0
		for w := range c.words {
			if found[w] > 0 {
				n++
			}
		}
		s.scenes[c.scene] = n >= c.least
	}
	// S1 A1 T1 B1 are the voices of a choir; K and S are kick and snare where no choir sings.
	s.scenes["@choir"] = initial["s1"] && initial["a1"]
	s.scenes["@letters"] = initial["k"] && initial["s"] && !s.scenes["@choir"]
	for w, n := range found {
		if n >= 4 && n*4 > len(tokens) && !d.single[w] {
			s.titles[w] = true
		}
	}
	return s
}

// company counts the names that plainly say a role; "guitars" and "voices" count those of any kind,
// "singers" the voices that lead rather than back.
func company(hints []Hint) map[string]int {
	const plainly = 0.75
	c := map[string]int{}
	for _, h := range hints {
		if h.Kind == "return" {
			continue
		}
		if role, p := h.Best(); p >= plainly {
			c[role]++
		}
		if h.Role["electric guitar"]+h.Role["acoustic guitar"] >= plainly {
			c["guitars"]++
		}
		if h.Role["lead vocal"]+h.Role["backing vocal"] >= plainly {
			c["voices"]++
			if h.Role["lead vocal"] > h.Role["backing vocal"] {
				c["singers"]++
			}
		}
	}
	return c
}

// dominantLanguage finds the language most words belong to; "" is English and everything international. A word that
// is in no entry counts a little for the languages whose words it abbreviates.
func dominantLanguage(tokens [][]string, d dictionary) string {
	count := map[string]float64{}
	for _, t := range tokens {
		for i, w := range t {
			for n := min(d.longest, len(t)-i); n > 0; n-- {
				for _, e := range d.phrases[strings.Join(t[i:i+n], " ")] {
					if (n > 1 || len(w) > 2) && !strings.HasPrefix(e.lang, "@") {
						count[e.lang]++
					}
				}
			}
			for _, l := range d.plain[w] {
				if l != "-" && !d.single[w] && len(w) > 2 {
					count[l] += 0.5
				}
			}
			if len(w) >= 3 && !d.single[w] && d.plain[w] == nil {
				langs := map[string]bool{}
				for _, word := range d.withPrefix(w) {
					for _, e := range d.phrases[word] {
						langs[e.lang] = true
					}
				}
				for l := range langs {
					count[l] += 0.5
				}
			}
		}
	}
	for l := range count {
		if strings.HasPrefix(l, "@") {
			delete(count, l)
		}
	}
	// International words are in every session, so any language that reaches a third of their number is the one.
	best := ""
	for _, l := range sortedKeys(count) {
		if l != "" && count[l] >= 1.5 && (count[l]*3 >= count[""] || count[l] >= 4 && count[l]*5 >= count[""]) && (best == "" || count[l] > count[best]) {
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
