package plan

import (
	"fmt"
	"slices"
	"strings"
)

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

// namePairs gives each pair a name from its buses, unique within the sheet. Free pairs are called "Free".
func namePairs(buses [][]string) []string {
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
