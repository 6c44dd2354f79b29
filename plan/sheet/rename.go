package sheet

import (
	"fmt"
	"slices"
	"strings"
)

// RenamePair gives pair n, counted from 1, another name, also where tracks name it as the place they would go next. The
// name must not be that of another pair.
func (s *Sheet) RenamePair(n int, name string) error {
	if n < 1 || n > len(s.Pairs) {
		return fmt.Errorf("pair %d: the sheet has %s", n, Plural(len(s.Pairs), "pair", "pairs"))
	}
	for k := range s.Pairs {
		if k != n-1 && strings.EqualFold(s.Pairs[k].Name, name) {
			return fmt.Errorf("pair %d is called %q already", k+1, s.Pairs[k].Name)
		}
	}
	old := s.Pairs[n-1].Name
	s.Pairs[n-1].Name = name
	for k := range s.Pairs {
		for i := range s.Pairs[k].Tracks {
			if t := &s.Pairs[k].Tracks[i]; t.RunnerUp == old && old != "" {
				t.RunnerUp = name
			}
		}
	}
	return nil
}

// RenameBus gives a bus another name wherever it stands. Two buses of one pair are never made one.
func (s *Sheet) RenameBus(old, name string) error {
	found := false
	for k := range s.Pairs {
		p := &s.Pairs[k]
		at := slices.IndexFunc(p.Buses, func(b string) bool { return strings.EqualFold(b, old) })
		if at < 0 {
			continue
		}
		if n := slices.IndexFunc(p.Buses, func(b string) bool { return strings.EqualFold(b, name) }); n >= 0 && n != at {
			return fmt.Errorf("pair %d (%s) has a bus %q already", k+1, p.Name, p.Buses[n])
		}
		for i := range p.Tracks {
			if strings.EqualFold(p.Tracks[i].Bus, old) {
				p.Tracks[i].Bus = name
			}
		}
		p.Buses[at], found = name, true
	}
	if !found {
		return fmt.Errorf("no bus is called %q; there are %s", old, strings.Join(s.busNames(), ", "))
	}
	return nil
}

func (s *Sheet) busNames() []string {
	var all []string
	for _, p := range s.Pairs {
		for _, b := range p.Buses {
			if !slices.Contains(all, b) {
				all = append(all, b)
			}
		}
	}
	return all
}
