// Command train fits the table of roles from kept vectors, and scores the recipe on bodies of material left out.
//
//	go run ./testdata/rolemodel/train                          rebuilds plan/ears/role.csv
//	go run ./testdata/rolemodel/train -scores FILE             writes the scores of bodies left out
//	go run ./testdata/rolemodel/train -keep 'DIR/*.csv'        keeps new vectors, as the tool in dump wrote them
//	go run ./testdata/rolemodel/train -keep-company DIR        keeps new sessions, as the tool in folds measured them
//	go run ./testdata/rolemodel/train -company                 rebuilds plan/company/company.csv, and writes its scores
package main

import (
	"errors"
	"flag"
	"fmt"
	"log"
	"maps"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"foldout/testdata/rolemodel/changes"
	"foldout/testdata/rolemodel/lab"
)

func main() {
	dir := flag.String("vectors", "testdata/rolemodel/vectors", "folder of the kept vectors")
	keep := flag.String("keep", "", "tables of vectors to keep, a pattern")
	table := flag.String("table", "plan/ears/role.csv", "the table to write")
	scores := flag.String("scores", "", "write scores of bodies left out to this file instead of the table")
	members := flag.String("keep-company", "", "keep what the ears say of whole sessions that the tool in folds measured into this folder")
	settled := flag.Bool("company", false, "fit the table of company from what was kept, and write its scores")
	without := flag.String("without", "", "train without bodies whose names begin so, for a comparison")
	flag.Parse()
	if *settled {
		if err := settle(*dir, os.Stdout); err != nil {
			log.Fatal(err)
		}
		return
	}
	if err := run(*dir, *keep, *table, *scores, *members, *without); err != nil {
		log.Fatal(err)
	}
}

func run(dir, keep, table, scores, measured, without string) error {
	if keep != "" {
		paths, err := filepath.Glob(keep)
		if err != nil {
			return err
		}
		s, err := lab.ReadDumps(paths)
		if err != nil {
			return err
		}
		if err := os.MkdirAll(dir, 0o755); err != nil {
			return err
		}
		return s.Write(dir)
	}
	s, err := changes.Material(dir)
	if err != nil {
		return err
	}
	if without != "" {
		s.Rows = slices.DeleteFunc(s.Rows, func(r lab.Row) bool { return strings.HasPrefix(r.Body, without) })
	}
	if scores != "" || measured != "" {
		heard, err := lab.Shipped.Cross(s)
		if err == nil && scores != "" {
			var met []lab.Heard
			if met, err = lab.Shipped.With(s); err == nil {
				err = score(s, heard, met, scores)
			}
		}
		if err == nil && measured != "" {
			err = keepMembers(heard, dir, measured)
		}
		return err
	}
	m, err := lab.Shipped.Fit(s, s.Training())
	if err != nil {
		return err
	}
	return os.WriteFile(table, m.Table(s), 0o644)
}

// score writes how every body was told by a model of the others, and by the table itself; and real recordings before and now.
func score(s *lab.Set, heard, met []lab.Heard, path string) error {
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	fmt.Fprint(f, "Written by `go run ./testdata/rolemodel/train -scores FILE`: whole tracks, each told by a model that never met its body\n"+
		"of material (real sources in five groups, rendered sessions in five groups; songs and three sessions never train); \"met\" is what\n"+
		"the table that is shipped says of the same tracks, which for all but the songs and those three it was trained on.\n\n")
	bodies, bodiesMet := by(heard, body), by(met, body)
	kinds, kindsMet := by(heard, kind), by(met, kind)
	fmt.Fprint(f, lab.ScoreHead("material"))
	for _, k := range lab.Materials {
		if len(kinds[k]) > 0 {
			lab.ScoreOf(kinds[k]).Line(f, k, lab.ScoreOf(kindsMet[k]))
		}
	}
	for _, k := range lab.Materials {
		if len(kinds[k]) > 0 {
			fmt.Fprintf(f, "\n**%s**\n", k)
			lab.ScoreOf(kinds[k]).Details(f)
		}
	}
	if err := eras(s, f); err != nil {
		return errors.Join(err, f.Close())
	}
	fmt.Fprint(f, "\n## By body\n\n", lab.ScoreHead("body"))
	for _, b := range slices.Sorted(maps.Keys(bodies)) {
		lab.ScoreOf(bodies[b]).Line(f, b, lab.ScoreOf(bodiesMet[b]))
	}
	return f.Close()
}

func body(h lab.Heard) string { return h.Body }
func kind(h lab.Heard) string { return lab.Material(h.Body) }

// by sorts tracks into lists.
func by(heard []lab.Heard, of func(lab.Heard) string) map[string][]lab.Heard {
	out := map[string][]lab.Heard{}
	for _, h := range heard {
		out[of(h)] = append(out[of(h)], h)
	}
	return out
}
