// Command sides fits the table by which left and right of one stereo sound are told from company (plan/company/sides.go), on
// mono tracks of labelled sessions without names.
//
//	go run ./testdata/kinship/sides -measure SESSION...    # keeps what was measured in testdata/kinship/sides.gz
//	go run ./testdata/kinship/sides                        # fits, writes the table, prints what it does for makers left out
//
// A session is a folder with labels.json and the tracks in anon/.
package main

import (
	"context"
	"encoding/json"
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"slices"

	"foldout/features"
	"foldout/plan/company"
	"foldout/plan/fold"
	"foldout/testdata/kinship/sides/fit"
)

const (
	keptFile = "testdata/kinship/sides.gz"
	table    = "plan/company/sides.csv"
)

func main() {
	measure := flag.Bool("measure", false, "measure sessions and keep what was measured")
	flag.Parse()
	var err error
	if *measure {
		err = keep(flag.Args())
	} else {
		err = settle()
	}
	if err != nil {
		log.Fatal(err)
	}
}

func keep(dirs []string) error {
	var all []fit.Session
	for _, dir := range dirs {
		s, err := session(dir)
		if err != nil {
			return fmt.Errorf("%s: %w", dir, err)
		}
		all = append(all, s)
	}
	return fit.Write(keptFile, all)
}

// session measures all pairs of a labelled session that are worth comparing.
func session(dir string) (fit.Session, error) {
	out := fit.Session{Name: filepath.Base(dir)}
	text, err := os.ReadFile(filepath.Join(dir, "labels.json"))
	if err != nil {
		return out, err
	}
	var labels struct {
		Tracks []struct{ File, Anon string }
		Sides  [][2]string `json:"lr_pairs"`
	}
	if err := json.Unmarshal(text, &labels); err != nil {
		return out, err
	}
	anon := map[string]string{}
	var files []string
	for _, t := range labels.Tracks {
		anon[t.File] = t.Anon
		files = append(files, filepath.Join(dir, "anon", t.Anon))
	}
	slices.Sort(files)
	cache, err := features.OpenCache("")
	if err != nil {
		return out, err
	}
	results, err := features.MeasureAll(context.Background(), files, features.Options{WithSketch: true, Cache: cache})
	if err != nil {
		return out, err
	}
	var tracks []*features.Analysis
	for _, r := range results {
		if r.Err != nil {
			return out, r.Err
		}
		tracks = append(tracks, r.Analysis)
	}
	kin := fold.FindKin(tracks)
	s, err := fold.Prepare(dir, tracks, fold.Options{Pairs: 8, EarsOnly: true, Kin: kin})
	if err != nil {
		return out, err
	}
	live, said := s.Sought(kin)
	out.Tracks = len(live)
	file := func(p int) string { return filepath.Base(s.Tracks[s.Live[p]].Profile.File) }
	for _, p := range company.MeasureSides(live, said) {
		pair := fit.Pair{Sides: p}
		for _, lr := range labels.Sides {
			a, b := anon[lr[0]], anon[lr[1]]
			pair.True = pair.True || a == file(p.A) && b == file(p.B) || b == file(p.A) && a == file(p.B)
		}
		out.Pairs = append(out.Pairs, pair)
	}
	return out, nil
}

// settle fits the table, and says what it does for the sessions of each maker when fitted without them.
func settle() error {
	all, err := fit.Read(keptFile)
	if err != nil {
		return err
	}
	fmt.Println("| sessions | pairs of sides | found | of the found, true | found by waveforms alone | true |\n|---|---:|---:|---:|---:|---:|")
	for _, maker := range fit.Makers(all) {
		train, apart := fit.Without(maker, all)
		m, err := fit.Fit(train)
		if err != nil {
			return err
		}
		fmt.Println(fit.Line("sessions "+maker+", fitted without them", m, apart))
	}
	m, err := fit.Fit(all)
	if err != nil {
		return err
	}
	fmt.Println(fit.Line("all, by the table", m, all))
	return os.WriteFile(table, []byte(m.Table()), 0o644)
}
