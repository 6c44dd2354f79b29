// Command lesson asks whether the trade's folds spare tracks what they do to one another in a shared channel: for every
// saved sheet it compares the figures of package lesson with those of the same tracks shuffled over pairs of the same
// sizes.
//
//	go run ./testdata/lesson SHEET.json ...
package main

import (
	"context"
	"fmt"
	"math"
	"math/rand/v2"
	"os"

	"foldout/features/align"
	"foldout/plan/channel"
	"foldout/plan/lesson"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

const shuffles = 20

func main() {
	fmt.Println("| sheet | figure | the fold | shuffled, middle | better than of the shuffled |")
	fmt.Println("|---|---|---|---|---|")
	for _, path := range os.Args[1:] {
		if err := one(path); err != nil {
			fmt.Fprintln(os.Stderr, err)
			os.Exit(1)
		}
	}
}

func one(path string) error {
	doc, err := sheet.Load(path)
	if err != nil {
		return err
	}
	e, err := lesson.Load(context.Background(), doc, stems.Options{}, nil)
	if err != nil {
		return err
	}
	names := []string{"swing dB", "fast %", "voices swing dB", "voices fast %", "added to mask dB", "uncovered %"}
	voice := map[string]bool{}
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			voice[t.File] = t.Role == "lead vocal" || t.Role == "backing vocal"
		}
	}
	figures := func(pair []int) []float64 {
		c := channel.Generic()
		var swing, fast, n, vs, vf, vn float64
		for t, m := range e.Modulation(pair, e.Pairs, c, 0) {
			if m.Sounds {
				swing, fast, n = swing+m.SwingDB, fast+100*m.Fast, n+1
				if voice[e.Files[t]] {
					vs, vf, vn = vs+m.SwingDB, vf+100*m.Fast, vn+1
				}
			}
		}
		u := e.Unmasked(pair, e.Pairs, c, 0)
		return []float64{swing / n, fast / n, vs / math.Max(1, vn), vf / math.Max(1, vn), u.RatioDB, 100 * u.Cells}
	}
	own := figures(e.Pair)
	rng := rand.New(rand.NewPCG(1, 1))
	var others [][]float64
	for range shuffles {
		pair := append([]int(nil), e.Pair...)
		rng.Shuffle(len(pair), func(a, b int) { pair[a], pair[b] = pair[b], pair[a] })
		others = append(others, figures(pair))
	}
	for k, name := range names {
		var values []float64
		better := 0
		for _, o := range others {
			values = append(values, o[k])
			if own[k] < o[k] {
				better++
			}
		}
		fmt.Printf("| %s, %d pairs | %s | %.3f | %.3f | %d %% |\n", doc.Folder, len(doc.Pairs), name, own[k], align.Median(values), 100*better/shuffles)
	}
	return nil
}
