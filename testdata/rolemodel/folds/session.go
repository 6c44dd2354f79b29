package main

import (
	"bufio"
	"cmp"
	"context"
	"encoding/gob"
	"encoding/json"
	"os"
	"path/filepath"
	"slices"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/fold"
)

// label is what is known of a track; an empty atom is out of all folds.
type label struct {
	File, Mixed, Anon string
	Role, Kind        string
	Atom              string
	Silent            bool
	Source            []string // what a copy, a parallel or a return was made from
	variant           map[string]string
}

type reference struct {
	Primary      [][]string
	Alternatives [][][]string
}

// session is a labelled session as measured.
type session struct {
	name      string
	tracks    []label
	sides     [][]string // files that are the two sides of one sound
	reference map[string]reference
	kept
}

// kept is what is stored: analyses in the order of the labels, and what kin they are.
type kept struct {
	Analyses []*features.Analysis
	Kin      []kinship.Relation
}

func load(dir, path string) (*session, error) {
	b, err := os.ReadFile(filepath.Join(dir, "labels.json"))
	if err != nil {
		return nil, err
	}
	var labels struct {
		Tracks    []label
		Sides     [][]string `json:"lr_pairs"`
		Reference map[string]reference
	}
	if err := json.Unmarshal(b, &labels); err != nil {
		return nil, err
	}
	s := &session{name: filepath.Base(dir), tracks: labels.Tracks, sides: labels.Sides, reference: labels.Reference}
	for i, t := range s.tracks {
		s.tracks[i].variant = map[string]string{"named": t.File, "mixed": t.Mixed, "anon": t.Anon}
	}
	if f, err := os.Open(path); err == nil {
		defer f.Close()
		return s, gob.NewDecoder(bufio.NewReader(f)).Decode(&s.kept)
	}
	return s, s.measure(dir, path)
}

func (s *session) measure(dir, path string) error {
	var files []string
	for _, t := range s.tracks {
		files = append(files, filepath.Join(dir, "named", t.File))
	}
	results, err := features.MeasureAll(context.Background(), files, features.Options{WithSketch: true, Workers: 1})
	if err != nil {
		return err
	}
	for _, r := range results {
		if r.Err != nil {
			return r.Err
		}
		s.Analyses = append(s.Analyses, r.Analysis)
	}
	s.Kin = fold.FindKin(s.Analyses)
	if err := os.MkdirAll(filepath.Dir(path), 0o755); err != nil {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	defer f.Close()
	if err := gob.NewEncoder(f).Encode(&s.kept); err != nil {
		return err
	}
	return f.Close()
}

// under is the session as a folder of files with other names, in their order; at says where each track was.
func (s *session) under(variant string) (tracks []*features.Analysis, kin fold.Kin, at []int) {
	for i := range s.tracks {
		at = append(at, i)
	}
	slices.SortFunc(at, func(a, b int) int {
		return cmp.Compare(s.tracks[a].variant[variant], s.tracks[b].variant[variant])
	})
	place := make([]int, len(at))
	for n, i := range at {
		place[i] = n
		a := *s.Analyses[i]
		a.Profile.File = s.tracks[i].variant[variant]
		tracks = append(tracks, &a)
	}
	kin = fold.Kin{}
	for _, r := range s.Kin {
		r.A, r.B = place[r.A], place[r.B]
		kin = append(kin, r)
	}
	return tracks, kin, at
}
