package main

import (
	"fmt"
	"io"
	"strings"

	"foldout/testdata/rolemodel/lab"
)

// recorded are the kinds of material that were recorded.
var recorded = lab.Materials[:4]

// eras writes what real recordings were taken for by a table of rendered material alone, by one of recordings too, and by the
// present one, always by a model that never met their body.
func eras(s *lab.Set, w io.Writer) error {
	asked := func(body string) bool { return lab.Held(body) || strings.HasPrefix(body, "real-") }
	heard := make([]map[string][]lab.Heard, len(lab.Eras))
	for i, e := range lab.Eras {
		told, err := e.Tell(s, asked)
		if err != nil {
			return err
		}
		heard[i] = by(told, kind)
		for _, k := range recorded {
			heard[i][allReal] = append(heard[i][allReal], heard[i][k]...)
		}
	}
	fmt.Fprint(w, "\n## Real recordings, before and now\n\n"+
		"Told by models that never met the body. \"rendered alone\": shrinkage 15, no recording heard. \"recordings too\": shrinkage 30, odds\n"+
		"divided by 1.2, without loops, guitars layered or tuned down and the second half of the tracks through effects. \"now\": what ships. All by the same vector.\n")
	titles := append(append([]string(nil), recorded...), allReal, lab.Materials[4])
	scores := make([][]lab.Score, len(titles))
	for i, title := range titles {
		for _, h := range heard {
			scores[i] = append(scores[i], lab.ScoreOf(h[title]))
		}
	}
	lab.WriteEras(w, titles, scores)
	for i, title := range titles[:len(titles)-1] {
		fmt.Fprintf(w, "\n**%s**\n", title)
		lab.WriteConfusions(w, scores[i])
	}
	for e, era := range lab.Eras {
		if e == 0 || e == len(lab.Eras)-1 {
			fmt.Fprintf(w, "\nAll of these, track by track, %s:\n", era.Name)
			scores[len(recorded)][e].WriteMatrix(w)
		}
	}
	return nil
}

const allReal = "all real recordings"
