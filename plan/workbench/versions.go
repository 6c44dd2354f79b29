package workbench

import (
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
