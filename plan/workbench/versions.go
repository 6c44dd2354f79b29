package workbench

import (
	"errors"
	"fmt"
	"time"
)

// keepVersion gives the present choice a name under which it can be found and compared.
func (s *session) keepVersion(name string) error {
	name, err := tidy(name)
	if err != nil {
		return err
	}
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.rejoin(); err != nil {
		return err
	}
	if name == "" {
		name = fmt.Sprintf("version %d", len(s.keep.versions)+1)
	}
	s.keep.versions = append(s.keep.versions, Version{Name: name, Time: time.Now().UTC().Truncate(time.Second), Choice: s.choice().clone()})
	if err := s.keep.write(s.history, s.at); err != nil {
		s.keep.versions = s.keep.versions[:len(s.keep.versions)-1]
		return err
	}
	s.touch()
	return nil
}

// version finds a version by its place in the list.
func (s *session) version(n int) (*Version, error) {
	if n < 0 || n >= len(s.keep.versions) {
		return nil, errors.New("there is no such version")
	}
	return &s.keep.versions[n], nil
}

// Comparison is a version beside the present.
type Comparison struct {
	Name   string     `json:"name"`
	Change *Change    `json:"change"` // from the version to the present; null where they are alike
	Pairs  []PairSide `json:"pairs"`
}

// PairSide is one pair of the version.
type PairSide struct {
	Number int      `json:"number"`
	Name   string   `json:"name"`
	Tracks []string `json:"tracks"`
}

// compareWith says what moved between a version and the present, and why.
func (s *session) compareWith(n int) (*Comparison, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	v, err := s.version(n)
	if err != nil {
		return nil, err
	}
	c := v.Choice.clone()
	if err := s.cover(c); err != nil {
		return nil, err
	}
	doc, err := s.write(c)
	if err != nil {
		return nil, err
	}
	out := &Comparison{Name: v.Name, Change: changeOf(s, doc, s.doc, c, s.choice()), Pairs: []PairSide{}}
	for k, p := range doc.Pairs {
		side := PairSide{Number: k + 1, Name: p.Name, Tracks: []string{}}
		for _, t := range p.Tracks {
			side.Tracks = append(side.Tracks, t.File)
		}
		out.Pairs = append(out.Pairs, side)
	}
	return out, nil
}

// returnTo makes a version the present; it is one step of the history like any other.
func (s *session) returnTo(n int) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.rejoin(); err != nil {
		return err
	}
	v, err := s.version(n)
	if err != nil {
		return err
	}
	c := v.Choice.clone()
	if err := s.cover(c); err != nil {
		return err
	}
	return s.show(c, func() { s.add("back to "+v.Name, c) })
}

// newsSeen takes the news off the page.
func (s *session) newsSeen() {
	s.mu.Lock()
	defer s.mu.Unlock()
	s.news = nil
	s.touch()
}

// stopStems gives up the writing of stems.
func (s *session) stopStems() {
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.stems != nil && !s.stems.over {
		s.stems.cancel()
	}
}
