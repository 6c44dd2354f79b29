package fold

import (
	"path/filepath"
	"slices"

	"foldout/plan/sheet"
	"foldout/plan/trade"
)

// givenNames are the names of a sheet's pairs that somebody gave them: those that are not the trade's for what they hold.
func givenNames(doc *sheet.Sheet) map[string]bool {
	given := map[string]bool{}
	for q, name := range trade.NamePairs(busesOf(doc)) {
		if doc.Pairs[q].Name != name {
			given[doc.Pairs[q].Name] = true
		}
	}
	return given
}

// KeepNames gives a sheet made from an older one the names that somebody gave there: of buses, and, if it is of the same
// folder, the title, and the pans and gains of its tracks. A bus keeps its name where all its tracks of the older sheet had it.
func KeepNames(doc, old *sheet.Sheet) {
	if filepath.Clean(old.Folder) == filepath.Clean(doc.Folder) {
		if old.Title != filepath.Base(old.Folder) {
			doc.Title = old.Title
		}
		keepPlaces(doc, old)
	}
	names := map[string]map[string]bool{} // by the trade's bus
	for _, p := range old.Pairs {
		for _, t := range p.Tracks {
			b := trade.BusFor(t.Role)
			if names[b] == nil {
				names[b] = map[string]bool{}
			}
			names[b][t.Bus] = true
		}
	}
	automatic := trade.DistinctBuses(busesOf(old))
	for b, list := range names {
		if len(list) != 1 {
			continue
		}
		for name := range list {
			if name == "" || name == b || slices.ContainsFunc(automatic, func(l []string) bool { return slices.Contains(l, name) }) {
				continue
			}
			for q := range doc.Pairs {
				renameBus(&doc.Pairs[q], b, name)
			}
		}
	}
}

// keepPlaces gives tracks the pan and gain that they had.
func keepPlaces(doc, old *sheet.Sheet) {
	places := map[string]sheet.Place{}
	for _, p := range old.Pairs {
		for _, t := range p.Tracks {
			places[t.File] = t.Place
		}
	}
	for q := range doc.Pairs {
		for n := range doc.Pairs[q].Tracks {
			t := &doc.Pairs[q].Tracks[n]
			t.Place = places[t.File]
		}
	}
}

// busesOf are the buses that the trade gives to the tracks of each pair.
func busesOf(doc *sheet.Sheet) [][]string {
	out := make([][]string, len(doc.Pairs))
	for q, p := range doc.Pairs {
		for _, t := range p.Tracks {
			if b := trade.BusFor(t.Role); !slices.Contains(out[q], b) {
				out[q] = append(out[q], b)
			}
		}
	}
	return out
}

func renameBus(p *sheet.Pair, from, to string) {
	for n := range p.Tracks {
		if p.Tracks[n].Bus == from {
			p.Tracks[n].Bus = to
		}
	}
	for n := range p.Buses {
		if p.Buses[n] == from {
			p.Buses[n] = to
		}
	}
}
