package main

import (
	"bufio"
	"encoding/gob"
	"encoding/json"
	"fmt"
	"os"
	"path/filepath"
	"runtime"
	"slices"
	"strings"

	"golang.org/x/sync/errgroup"

	"foldout/features/timbre"
	"foldout/testdata/rolemodel/changes"
)

// session is what was measured of a labelled session.
type session struct {
	Elements []string // of the vectors
	Tracks   []changes.Track
}

// load reads what was measured of a session into a folder, or measures it.
func load(dir, folder string, every int, longest float64) (*session, error) {
	path := filepath.Join(folder, strings.TrimSuffix(filepath.Base(dir), ".gob")+".gob")
	if f, err := os.Open(path); err == nil {
		defer f.Close()
		s := &session{}
		if err := gob.NewDecoder(bufio.NewReader(f)).Decode(s); err != nil {
			return nil, fmt.Errorf("%s: %w; delete it to measure anew", path, err)
		}
		if !slices.Equal(s.Elements, timbre.Names) {
			return nil, fmt.Errorf("%s is of another meter: delete it to measure anew", path)
		}
		return s, nil
	}
	s, err := measure(dir, every, longest)
	if err != nil {
		return nil, err
	}
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return nil, err
	}
	f, err := os.Create(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	if err := gob.NewEncoder(f).Encode(s); err != nil {
		return nil, err
	}
	return s, f.Close()
}

func measure(dir string, every int, longest float64) (*session, error) {
	b, err := os.ReadFile(filepath.Join(dir, "labels.json"))
	if err != nil {
		return nil, err
	}
	var labels struct {
		Tracks []struct {
			File, Role, Atom string
			Silent           bool
		}
	}
	if err := json.Unmarshal(b, &labels); err != nil {
		return nil, err
	}
	body := filepath.Base(dir)
	s := &session{Elements: timbre.Names}
	for i, t := range labels.Tracks {
		if !t.Silent && t.Atom != "" && i%every == 0 {
			s.Tracks = append(s.Tracks, changes.Track{Body: body, File: t.File, Family: t.Atom})
		}
	}
	var g errgroup.Group
	g.SetLimit(runtime.NumCPU())
	for i := range s.Tracks {
		g.Go(func() error {
			t := &s.Tracks[i]
			planes, rate, err := changes.ReadWAV(filepath.Join(dir, "named", t.File))
			if err == nil {
				t.Plain, t.Changed = changes.Measure(changes.Loudest(planes, int(longest*float64(rate))), rate)
			}
			return err
		})
	}
	if err := g.Wait(); err != nil {
		return nil, err
	}
	s.Tracks = slices.DeleteFunc(s.Tracks, func(t changes.Track) bool { return t.Plain == nil })
	return s, nil
}
