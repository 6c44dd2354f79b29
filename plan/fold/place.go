package fold

import (
	"fmt"

	"foldout/plan/sheet"
)

// Grouping of a manual sheet: where it puts the tracks of a session.
type Placed struct {
	Labels  []int // pair of each live track, -1 for none
	rows    []sheet.ManualRow
	buses   []string // bus of each live track, "" for none
	Pairs   int
	Missing []string // live tracks the sheet does not place
	Unknown []string // rows whose track is not in the folder
	Notes   []string
}

// place matches the rows of a manual sheet with the session's tracks: by path, file name, or file name without
// extension; case, spaces and underscores aside, as long as only one track fits.
func (s *Session) Place(m *sheet.Manual) *Placed {
	out := &Placed{Pairs: len(m.Names), Labels: make([]int, len(s.Live)), buses: make([]string, len(s.Live)), rows: make([]sheet.ManualRow, len(s.Live))}
	out.Notes = append(out.Notes, m.Notes...)
	position := map[int]int{}
	for p, i := range s.Live {
		position[i] = p
		out.Labels[p] = -1
	}
	files := s.files()
	find := sheet.NewFinder(files)
	first := map[int]sheet.ManualRow{}
	for _, row := range m.Rows {
		hits := find.All(row.Track)
		switch {
		case len(hits) == 0:
			out.Unknown = append(out.Unknown, row.Track)
			if near := find.Near(row.Track); near != "" {
				out.Notes = append(out.Notes, fmt.Sprintf("line %d: no track is called %q; did you mean %s?", row.Line, row.Track, near))
			}
			continue
		case len(hits) > 1:
			out.Notes = append(out.Notes, fmt.Sprintf("line %d: %d tracks are called %q; give the folder too; left out", row.Line, len(hits), row.Track))
			continue
		case row.Pair == 0:
			continue
		}
		i := hits[0]
		if before, ok := first[i]; ok {
			if before.Pair != row.Pair {
				out.Notes = append(out.Notes, fmt.Sprintf("%s is on pair %d (line %d) and on pair %d (line %d): it would sound twice; the first counts here", files[i], before.Pair, before.Line, row.Pair, row.Line))
			}
			continue
		}
		first[i] = row
		if p, live := position[i]; live {
			out.Labels[p], out.buses[p], out.rows[p] = row.Pair-1, row.Bus, row
		}
	}
	for p, i := range s.Live {
		if out.Labels[p] < 0 {
			out.Missing = append(out.Missing, files[i])
		}
	}
	return out
}

// Placing is the pan and the gain that the table gives to live track p.
func (p *Placed) Placing(track int) sheet.Place { return p.rows[track].Place }

// Buses are the buses that the table gives to the live tracks, "" for none.
func (p *Placed) Buses() []string { return p.buses }
