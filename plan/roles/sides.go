package roles

import (
	"slices"
	"strings"
)

// sideWords are the words of three letters and more that say a side in some language.
var sideWords = func() map[string]bool {
	out := map[string]bool{}
	for _, words := range sides {
		for w := range words {
			if len(w) > 2 {
				out[w] = true
			}
		}
	}
	return out
}()

// translateSides puts left and right for the words of any language where two names differ in nothing else but the channel at their
// heads (07, K19): "Ambiance li" and "Ambiance re" are a pair, whatever language the other names are in. A single letter is left to
// the language of the session.
func translateSides(tokens [][]string) {
	at := map[string]bool{}
	for _, t := range tokens {
		at[strings.Join(t[channel(t):], " ")] = true
	}
	key := func(t []string, word string, i int) string {
		return strings.Join(slices.Concat(t[min(channel(t), i):i], []string{word}, t[i+1:]), " ")
	}
	type place struct {
		name, word int
		side       string
	}
	var found []place
	for n, t := range tokens {
		for i, w := range t {
			if i == 0 || len(w) < 2 {
				continue
			}
			for _, lang := range sortedKeys(sides) {
				side := sides[lang][w]
				if side == "" || lang == "" {
					continue
				}
				for _, other := range sortedKeys(sides[lang]) {
					if o := sides[lang][other]; len(other) > 1 && o != side && at[key(t, other, i)] {
						found = append(found, place{n, i, map[string]string{"L": "left", "R": "right"}[side]})
					}
				}
			}
		}
	}
	for _, f := range found {
		tokens[f.name][f.word] = f.side
	}
}

// channel counts the words at the head of a name that number the track: 07, K 19.
func channel(tokens []string) int {
	n := leadingNumbers(tokens)
	if len(tokens) >= n+4 && len(tokens[n]) == 1 && isNumber(tokens[n+1]) {
		n += 2
	}
	return n
}

// numbers are those of a name but for what stands at its head.
func numbers(tokens []string) string {
	var out []string
	for _, w := range tokens[leadingNumbers(tokens):] {
		if isNumber(w) {
			out = append(out, w)
		}
	}
	return strings.Join(out, " ")
}

// Mates finds for each name the one that is its other side, -1 where there is none: its stem and kind are the same and its side is
// the other. Where several are so, as among "Room 1 L", "Room 1 R", "Room 2 L" and "Room 2 R", their numbers tell: all of them,
// or else the first, or else the last. group tells which names may be pairs at all; those of the empty group are none.
func Mates(hints []Hint, group func(i int) string) []int {
	mate := make([]int, len(hints))
	for i := range mate {
		mate[i] = -1
	}
	for _, numbers := range []func(words []string) string{
		func([]string) string { return "" },
		func(words []string) string { return strings.Join(words, " ") },
		func(words []string) string { return words[0] },
		func(words []string) string { return words[len(words)-1] },
	} {
		type name struct{ group, stem, kind, numbers string }
		lr := map[name]map[string][]int{}
		for i, h := range hints {
			g := group(i)
			if g == "" || h.Side == "" || h.Stem == "" || mate[i] >= 0 {
				continue
			}
			n := name{g, h.Stem, h.Kind, numbers(strings.Split(h.Numbers, " "))}
			if lr[n] == nil {
				lr[n] = map[string][]int{}
			}
			lr[n][h.Side] = append(lr[n][h.Side], i)
		}
		for _, of := range lr {
			if l, r := of["L"], of["R"]; len(l) == 1 && len(r) == 1 {
				mate[l[0]], mate[r[0]] = r[0], l[0]
			}
		}
	}
	return mate
}
