package main

import (
	"fmt"
	"io"

	"foldout/plan"
)

func writeSheetText(w io.Writer, s *plan.Sheet) error {
	fmt.Fprintf(w, "%s: %d tracks on %d of %d pairs\n", s.Title, countTracks(s), s.Figures.PairsUsed, s.Settings.Pairs)
	for n, p := range s.Pairs {
		fmt.Fprintf(w, "\nPair %d  outputs %d/%d  %s\n  %s\n", n+1, p.Outputs[0], p.Outputs[1], p.Name, p.Reason)
		for _, t := range p.Tracks {
			fmt.Fprintf(w, "  %-28s %-18s %3.0f %%  next: %s\n", t.File, t.Bus, 100*t.Confidence, t.RunnerUp)
			for _, r := range t.Reasons {
				fmt.Fprintf(w, "      %s\n", r.Text)
			}
		}
	}
	for _, a := range s.SetAside {
		fmt.Fprintf(w, "\nSet aside: %s (%s)\n", a.File, a.Reason)
	}
	return nil
}

func countTracks(s *plan.Sheet) int {
	n := 0
	for _, p := range s.Pairs {
		n += len(p.Tracks)
	}
	return n
}
