package report

import (
	"bytes"
	"fmt"
	"html/template"

	"foldout/plan/sheet"
)

// sweepView is what more pairs would buy.
type sweepView struct {
	Plot   template.HTML // from package plan; it holds no names
	Advice string
	Points []pointView
}

type pointView struct {
	Pairs      int
	Used       int
	Left, Buys string
	Loudest    string
	Best, Here bool
}

// sweepOf shows a sweep; here is the number of pairs of the sheet beside it, 0 for none.
func sweepOf(s *sheet.Sweep, here int) (*sweepView, error) {
	v := &sweepView{Advice: typeset(plain(s.Advice))}
	if len(s.Points) > 1 { // a single one is no curve
		var svg bytes.Buffer
		if err := DrawSweep(&svg, s); err != nil {
			return nil, fmt.Errorf("the plot of the sweep: %w", err)
		}
		drawing := svg.Bytes()
		if k := bytes.Index(drawing, []byte("<svg")); k > 0 { // a page holds no XML declaration
			drawing = drawing[k:]
		}
		v.Plot = template.HTML(drawing)
	}
	for _, p := range s.Points {
		v.Points = append(v.Points, pointView{Pairs: p.Pairs, Used: p.Used, Left: percent(p.SpreadPC), Loudest: decibels(p.Figures.LoudestPairDB),
			Buys: typeset(plain(p.Buys)), Best: p.Pairs == s.Recommend, Here: p.Pairs == here})
	}
	return v, nil
}
