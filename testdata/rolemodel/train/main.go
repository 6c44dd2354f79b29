// Command train fits the table of roles from kept vectors, and scores the recipe on bodies of material left out.
//
//	go run ./testdata/rolemodel/train                          rebuilds plan/ears/role.csv
//	go run ./testdata/rolemodel/train -scores FILE             writes the scores of bodies left out
//	go run ./testdata/rolemodel/train -keep 'DIR/*.csv'        keeps new vectors, as the tool in dump wrote them
package main

import (
	"flag"
	"fmt"
	"log"
	"os"
	"path/filepath"
	"strings"

	"foldout/testdata/rolemodel/lab"
)

func main() {
	dir := flag.String("vectors", "testdata/rolemodel/vectors", "folder of the kept vectors")
	keep := flag.String("keep", "", "tables of vectors to keep, a pattern")
	table := flag.String("table", "plan/ears/role.csv", "the table to write")
	scores := flag.String("scores", "", "write scores of bodies left out to this file instead of the table")
	without := flag.String("without", "", "train without bodies whose names begin so, for a comparison")
	flag.Parse()
	if err := run(*dir, *keep, *table, *scores, *without); err != nil {
		log.Fatal(err)
	}
}

func run(dir, keep, table, scores, without string) error {
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
	s, err := lab.Read(dir)
	if err != nil {
		return err
	}
	if scores != "" {
		return score(s, scores, without)
	}
	rows := make([]*lab.Row, 0, len(s.Rows))
	for i := range s.Rows {
		if without == "" || !strings.HasPrefix(s.Rows[i].Body, without) {
			rows = append(rows, &s.Rows[i])
		}
	}
	m, err := lab.Shipped.Fit(rows, len(s.Names))
	if err != nil {
		return err
	}
	return os.WriteFile(table, m.Table(s), 0o644)
}

// score tells every body by a model of the others.
func score(s *lab.Set, path, without string) error {
	if without != "" {
		kept := s.Rows[:0]
		for _, r := range s.Rows {
			if !strings.HasPrefix(r.Body, without) {
				kept = append(kept, r)
			}
		}
		s.Rows = kept
	}
	heard, err := lab.Shipped.Cross(s, nil)
	if err != nil {
		return err
	}
	f, err := os.Create(path)
	if err != nil {
		return err
	}
	fmt.Fprint(f, "Written by `go run ./testdata/rolemodel/train -scores FILE`: whole tracks, each told by a model that never met its body\n"+
		"of material (real sources in five groups, rendered sessions in five groups).\n\n"+
		"| body | tracks | family right % | log loss | coarse right % | log loss |\n|---|---:|---:|---:|---:|---:|\n")
	bodies := map[string][]lab.Heard{}
	var order []string
	add := func(name string, h lab.Heard) {
		if bodies[name] == nil {
			order = append(order, name)
		}
		bodies[name] = append(bodies[name], h)
	}
	for _, h := range heard {
		switch {
		case strings.HasPrefix(h.Body, "real-"):
			add(strings.TrimPrefix(h.Body, "real-"), h)
			add("**all real**", h)
		case strings.HasPrefix(h.Body, "proc-"):
			add("**rendered, through effects**", h)
		default:
			add("**rendered sessions**", h)
		}
	}
	for _, name := range order {
		lab.ScoreOf(bodies[name]).Line(f, name)
	}
	for _, name := range []string{"**all real**", "**rendered sessions**"} {
		fmt.Fprintf(f, "\n%s\n", name)
		lab.ScoreOf(bodies[name]).Details(f)
	}
	return f.Close()
}
