// Package roles reads what an engineer wrote on a track: in goes a list of track names, out comes for each a soft
// hint of its role, its kind (parallel copy, effect return, double) and its side.
//
// A hint is an opinion with a weight, never a verdict: a name that says nothing gives an empty hint, and the sound
// decides. Words, abbreviations and languages are listed in the tables under words/ (common practice, no source).
//
// The way of a name: fold (any script to plain Latin letters), tokenize (words), read (scores per role, by the tables
// and in the language and scene of the whole list), reconcile (words whose meaning hangs on their company), settle
// (probabilities).
package roles

import (
	"sort"
	"strings"
)

// Hint is what one name says.
type Hint struct {
	// Role holds probabilities over roles. Their sum is at most 1; what is missing is "the name does not say".
	Role map[string]float64
	// Kind is "return" for an effect return, "parallel" for a parallel copy, "double" for a doubled take, else "".
	Kind string
	// Noise is set for clicks, cues, effect sounds and the like, which belong to no instrument.
	Noise bool
	// Side is "L", "R" or "".
	Side string
	// Stem is the name without extension, numbers, side marks: two files of one stereo source share a stem.
	Stem string
	// Numbers are those of the name but for one at its head, with a space between: "1" of "07 Room 1 L".
	Numbers string
	// Words lists the words that were understood, as found.
	Words []string
}

// Known returns the probability that the name says anything about the role, 0..1.
func (h Hint) Known() float64 {
	var s float64
	for _, p := range h.Role {
		s += p
	}
	return s
}

// Best returns the most probable role and its probability, "" and 0 for an empty hint. Ties go to the first in
// alphabetical order.
func (h Hint) Best() (string, float64) {
	best, p := "", 0.0
	for _, r := range sortedKeys(h.Role) {
		if h.Role[r] > p {
			best, p = r, h.Role[r]
		}
	}
	return best, p
}

// Parse reads the names of one session together, so that its language, its common prefix and its other instruments
// are known. Names may be paths; the last element counts. The result has one hint per name, in order.
func Parse(names []string) []Hint {
	d := loadDictionary()
	tokens := make([][]string, len(names))
	for i, n := range names {
		tokens[i] = tokenize(n, d)
	}
	dropCommonPrefix(tokens, d)
	partSides(tokens, d)
	translateSides(tokens)
	s := survey(tokens, d)
	out := make([]Hint, len(names))
	// The first reading finds who else plays; the second reads every name in that company.
	for range 2 {
		for i, t := range tokens {
			out[i] = read(t, s, d)
		}
		s.company = company(out)
	}
	hearSeries(out)
	return out
}

func sortedKeys[V any](m map[string]V) []string {
	keys := make([]string, 0, len(m))
	for k := range m {
		keys = append(keys, k)
	}
	sort.Strings(keys)
	return keys
}

func setOf(words string) map[string]bool {
	s := map[string]bool{}
	for _, w := range strings.Fields(words) {
		s[w] = true
	}
	return s
}
