package plan

import (
	"fmt"
	"math"
	"strconv"
	"strings"
)

// number turns the cells of the pair column into pair numbers. If all are numbers they count as such; if all are names
// they are numbered as they first appear; a mixture counts as names.
func (m *Manual) number(cells, names []string) error {
	numbers := make([]int, len(cells))
	numeric := true
	for i, c := range cells {
		n, ok := pairNumber(c)
		if c != "" && !ok {
			numeric = false
		}
		if ok && (n < 1 || n > MaxPairs) {
			return fmt.Errorf("line %d: pair %s: pairs are counted from 1 to %d", m.Rows[i].Line, c, MaxPairs)
		}
		numbers[i] = n
	}
	if !numeric {
		for i, c := range cells {
			if f, err := strconv.ParseFloat(strings.Replace(c, ",", ".", 1), 64); err == nil && f != math.Trunc(f) {
				return fmt.Errorf("line %d: pair %s: want a whole number, two outputs such as 5/6, or a name", m.Rows[i].Line, c)
			}
		}
		return m.numberNames(cells)
	}
	most := 0
	for i, n := range numbers {
		m.Rows[i].Pair = n
		most = max(most, n)
	}
	if most == 0 {
		return fmt.Errorf("no track has a pair")
	}
	m.Names = make([]string, most)
	for i, n := range numbers {
		if n > 0 && m.Names[n-1] == "" {
			m.Names[n-1] = names[i]
		}
	}
	return nil
}

func (m *Manual) numberNames(cells []string) error {
	at := map[string]int{}
	for i, c := range cells {
		if c == "" {
			continue
		}
		key := strings.ToLower(c)
		if at[key] == 0 {
			m.Names = append(m.Names, c)
			at[key] = len(m.Names)
		}
		if len(m.Names) > MaxPairs {
			return fmt.Errorf("line %d: more than %d different pairs; is this the column of the pairs?", m.Rows[i].Line, MaxPairs)
		}
		m.Rows[i].Pair = at[key]
	}
	return nil
}

// pairNumber reads "3", "3.0", "Pair 3", "P3", "Stem 3", "5/6", "5-6", "Out 5+6", "Pair 3: Guitars" is a name.
func pairNumber(cell string) (int, bool) {
	s := strings.ToLower(strings.TrimSpace(cell))
	for _, word := range []string{"pair", "stem", "outputs", "output", "outs", "out", "line", "p", "#"} {
		if rest, ok := strings.CutPrefix(s, word); ok {
			s = strings.TrimSpace(strings.TrimPrefix(rest, "."))
			break
		}
	}
	s = strings.TrimSuffix(s, ".0")
	if n, err := strconv.Atoi(s); err == nil {
		return n, true
	}
	for _, sep := range []string{"/", "-", "+", "–", "&", " "} {
		a, b, ok := strings.Cut(s, sep)
		if !ok {
			continue
		}
		left, errA := strconv.Atoi(strings.TrimSpace(a))
		right, errB := strconv.Atoi(strings.TrimSpace(b))
		if errA == nil && errB == nil && left%2 == 1 && right == left+1 {
			return right / 2, true
		}
	}
	return 0, false
}

// manual writes a saved sheet as a manual one.
func (s *Sheet) manual() *Manual {
	m := &Manual{}
	for n, p := range s.Pairs {
		m.Names = append(m.Names, p.Name)
		for _, t := range p.Tracks {
			m.Rows = append(m.Rows, ManualRow{Line: len(m.Rows) + 1, Track: t.File, Pair: n + 1, Bus: t.Bus})
		}
	}
	return m
}

// Grouping of a manual sheet: where it puts the tracks of a session.
type placed struct {
	labels  []int    // pair of each live track, -1 for none
	buses   []string // bus of each live track, "" for none
	pairs   int
	missing []string // live tracks the sheet does not place
	unknown []string // rows whose track is not in the folder
	notes   []string
}

// place matches the rows of a manual sheet with the session's tracks: by path, file name, or file name without
// extension; case, spaces and underscores aside, as long as only one track fits.
func (s *Session) placeManual(m *Manual) *placed {
	out := &placed{pairs: len(m.Names), labels: make([]int, len(s.Live)), buses: make([]string, len(s.Live))}
	out.notes = append(out.notes, m.Notes...)
	position := map[int]int{}
	for p, i := range s.Live {
		position[i] = p
		out.labels[p] = -1
	}
	files := make([]string, len(s.Tracks))
	for i, t := range s.Tracks {
		files[i] = t.Profile.File
	}
	find := newFinder(files)
	first := map[int]ManualRow{}
	for _, row := range m.Rows {
		hits := find.all(row.Track)
		switch {
		case len(hits) == 0:
			out.unknown = append(out.unknown, row.Track)
			continue
		case len(hits) > 1:
			out.notes = append(out.notes, fmt.Sprintf("line %d: %d tracks are called %q; give the folder too; left out", row.Line, len(hits), row.Track))
			continue
		case row.Pair == 0:
			continue
		}
		i := hits[0]
		if before, ok := first[i]; ok {
			if before.Pair != row.Pair {
				out.notes = append(out.notes, fmt.Sprintf("%s is on pair %d (line %d) and on pair %d (line %d): it would sound twice; the first counts here", files[i], before.Pair, before.Line, row.Pair, row.Line))
			}
			continue
		}
		first[i] = row
		if p, live := position[i]; live {
			out.labels[p], out.buses[p] = row.Pair-1, row.Bus
		}
	}
	for p, i := range s.Live {
		if out.labels[p] < 0 {
			out.missing = append(out.missing, files[i])
		}
	}
	return out
}
