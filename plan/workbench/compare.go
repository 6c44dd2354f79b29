package workbench

import (
	"errors"
	"fmt"
	"path/filepath"
	"strings"

	"foldout/cluster"
	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// other names a grouping to put beside the present one: a version by its place in the list, or a file, which may be a saved
// sheet or a table made by hand.
type other struct {
	Version int    `json:"version"`
	Path    string `json:"path"`
}

// otherGrouping is what such a name stands for.
type otherGrouping struct {
	name   string
	choice *Choice
	lost   []string // what it calls tracks and is none here
	notes  []string
}

// Comparison is another grouping beside the present.
type Comparison struct {
	Name   string     `json:"name"`
	Path   string     `json:"path"`   // of the file, "" for a version
	Change *Change    `json:"change"` // from the other to the present; null where they are alike
	Pairs  []PairSide `json:"pairs"`  // of the other
	Lost   []string   `json:"lost"`   // tracks of the other that are not here
	Notes  []string   `json:"notes"`
}

// PairSide is one pair of the other grouping.
type PairSide struct {
	Number int      `json:"number"` // of the present pair with which it shares most
	Was    int      `json:"was"`    // its own number
	Name   string   `json:"name"`
	Tracks []string `json:"tracks"`
}

// compareWith says what differs between another grouping and the present one, and why. Pairs are matched by their tracks, so
// that another order of the pairs is no difference.
func (s *session) compareWith(o other) (*Comparison, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	g, err := s.otherOf(o)
	if err != nil {
		return nil, err
	}
	was := s.match(g.choice)
	doc, err := s.write(g.choice)
	if err != nil {
		return nil, err
	}
	out := &Comparison{Name: g.name, Path: o.Path, Pairs: []PairSide{}, Lost: append([]string{}, g.lost...), Notes: append([]string{}, g.notes...),
		Change: differ(s, doc, s.doc, g.choice, s.choice(), true, mostWeighs)}
	for n, p := range doc.Pairs {
		if was[n] == 0 {
			continue // filled up with
		}
		side := PairSide{Number: n + 1, Was: was[n], Name: p.Name, Tracks: []string{}}
		for _, t := range p.Tracks {
			side.Tracks = append(side.Tracks, t.File)
		}
		out.Pairs = append(out.Pairs, side)
	}
	return out, nil
}

// otherOf finds another grouping. Call it with the lock held.
func (s *session) otherOf(o other) (*otherGrouping, error) {
	if o.Path != "" {
		return s.sheetOf(o.Path)
	}
	if o.Version < 0 || o.Version >= len(s.keep.versions) {
		return nil, errors.New("there is no such version")
	}
	v := &s.keep.versions[o.Version]
	c := v.Choice.clone()
	return &otherGrouping{name: v.Name, choice: c}, s.cover(c)
}

// sheetOf reads the grouping of a file. Tracks that it does not place are aside there.
func (s *session) sheetOf(path string) (*otherGrouping, error) {
	m, err := sheet.LoadManual(path)
	if err != nil {
		return nil, err
	}
	c := s.choice().clone()
	c.Aside, c.Locked, c.Tied, c.Apart = map[string]string{}, map[string]bool{}, nil, nil
	for f := range s.found {
		c.Taken[f] = true
	}
	all, err := s.prepare(c, fold.Options{Pairs: 1})
	if err != nil {
		return nil, err
	}
	placed := all.Place(m)
	if len(placed.Missing) == len(all.Live) {
		return nil, fmt.Errorf("%s: none of its tracks is in %s; choose a sheet of this session", path, s.folder)
	}
	c.Pairs = nil
	for _, name := range m.Names {
		c.Pairs = append(c.Pairs, Lane{Name: name, Tracks: []string{}})
	}
	for pos, n := range placed.Labels {
		f := all.Tracks[all.Live[pos]].Profile.File
		if n >= 0 {
			c.Pairs[n].Tracks = append(c.Pairs[n].Tracks, f)
			continue
		}
		delete(c.Taken, f)
		if _, found := s.found[f]; !found {
			c.Aside[f] = "not placed by " + filepath.Base(path)
		}
	}
	return &otherGrouping{strings.TrimSuffix(sheet.TrackName(path), ".sheet"), c, placed.Unknown, placed.Notes}, nil
}

// match gives each pair of a choice the number of the present pair with which it shares most, fills up with pairs that hold
// nothing, and returns which number each had, 0 for those.
func (s *session) match(c *Choice) (was []int) {
	here, there := s.choice().place(), c.place()
	var reference, labels []int
	for f, n := range there {
		if at, ok := here[f]; ok {
			reference, labels = append(reference, at), append(labels, n)
		}
	}
	rename, err := cluster.MatchLabels(reference, labels)
	if err != nil { // labels of our own making
		panic("workbench: " + err.Error())
	}
	for n := len(rename); n < max(len(c.Pairs), len(s.choice().Pairs)); n++ {
		rename = append(rename, n)
	}
	pairs := make([]Lane, len(rename))
	was = make([]int, len(rename))
	for n := range pairs {
		pairs[n].Tracks = []string{}
	}
	for n, l := range c.Pairs {
		pairs[rename[n]], was[rename[n]] = l, n+1
	}
	c.Pairs = pairs
	return was
}

// returnTo makes another grouping the present; it is one step of the history like any other.
func (s *session) returnTo(o other) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.rejoin(); err != nil {
		return err
	}
	g, err := s.otherOf(o)
	if err != nil {
		return err
	}
	name := "back to " + g.name
	if o.Path != "" {
		name = "as in " + g.name
	}
	return s.show(g.choice, func() { s.add(name, g.choice) })
}
