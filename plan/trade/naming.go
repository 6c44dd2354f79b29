package trade

import (
	"fmt"
	"slices"
	"strings"
)

// DistinctBuses numbers buses that appear on several pairs: a bus leaves through one pair only.
func DistinctBuses(buses [][]string) [][]string {
	count := map[string]int{}
	for _, list := range buses {
		for _, b := range list {
			count[b]++
		}
	}
	seen := map[string]int{}
	out := make([][]string, len(buses))
	for l, list := range buses {
		for _, b := range list {
			if count[b] > 1 {
				seen[b]++
				b = fmt.Sprintf("%s %d", b, seen[b])
			}
			out[l] = append(out[l], b)
		}
	}
	return out
}

// KeepNames puts names kept from an older sheet in the place of new ones and numbers new ones that a kept one equals.
func KeepNames(names, kept []string) {
	for q, n := range kept {
		if n != "" && q < len(names) {
			names[q] = n
		}
	}
	for q, base := range names {
		if q < len(kept) && kept[q] != "" {
			continue
		}
		for n := 2; slices.Index(names, names[q]) != q || slices.Contains(names[q+1:], names[q]); n++ {
			names[q] = fmt.Sprintf("%s %d", base, n)
		}
	}
}

// short names of buses, as they fit on a label.
var shortBus = map[string]string{
	"Electric guitars": "El. guitars", "Acoustic guitars": "Ac. guitars", "Lead vocals": "Lead", "Backing vocals": "Backing",
}

// wholes are the names of pairs that hold several buses, tried in order: the first whose buses cover all of the
// pair's, with at least two of them present, names it (common practice, no source).
var wholes = []struct {
	name  string
	buses []string
}{
	{"Drums and percussion", []string{"Drums", "Percussion"}},
	{"Rhythm", []string{"Drums", "Bass", "Percussion"}},
	{"Guitars", []string{"Electric guitars", "Acoustic guitars"}},
	{"Keys and synths", []string{"Keys", "Synths"}},
	{"Strings and horns", []string{"Strings", "Horns"}},
	{"Keys and horns", []string{"Keys", "Synths", "Horns"}},
	{"Keys and strings", []string{"Keys", "Synths", "Strings"}},
	{"Keys, strings and horns", []string{"Keys", "Synths", "Strings", "Horns"}},
	{"Vocals", []string{"Lead vocals", "Backing vocals"}},
	{"Band", []string{"Electric guitars", "Acoustic guitars", "Keys", "Synths", "Strings", "Horns"}},
	{"Band and bass", []string{"Bass", "Electric guitars", "Acoustic guitars", "Keys", "Synths", "Strings", "Horns"}},
	{"Instruments", []string{"Drums", "Percussion", "Bass", "Electric guitars", "Acoustic guitars", "Keys", "Synths", "Strings", "Horns"}},
}

// NamePairs gives each pair a name from its buses, unique within the sheet. Free pairs are called "Free".
func NamePairs(buses [][]string) []string {
	names := make([]string, len(buses))
	for i, b := range buses {
		names[i] = nameOf(b)
	}
	count := map[string]int{}
	for _, n := range names {
		count[n]++
	}
	seen := map[string]int{}
	for i, n := range names {
		if count[n] > 1 {
			seen[n]++
			names[i] = fmt.Sprintf("%s %d", n, seen[n])
		}
	}
	return names
}

func nameOf(buses []string) string {
	switch len(buses) {
	case 0:
		return "Free"
	case 1:
		return buses[0]
	}
	for _, w := range wholes {
		if !slices.ContainsFunc(buses, func(b string) bool { return !slices.Contains(w.buses, b) }) {
			return w.name
		}
	}
	var parts []string
	for _, b := range buses {
		if s, ok := shortBus[b]; ok {
			b = s
		}
		parts = append(parts, b)
	}
	if len(parts) > 3 {
		return strings.Join(parts[:2], ", ") + " and more"
	}
	return strings.Join(parts[:len(parts)-1], ", ") + " and " + strings.ToLower(parts[len(parts)-1])
}
