package lab

import (
	"fmt"
	"io"
	"strings"
)

// WriteEras writes how the same tracks were told in each era, a row for each of the scores' titles.
func WriteEras(w io.Writer, titles []string, scores [][]Score) {
	fmt.Fprint(w, "\n| material | tracks |")
	for _, e := range Eras {
		fmt.Fprintf(w, " %s: family right %% | coarse right %% | log loss |", e.Name)
	}
	fmt.Fprintln(w, "\n|---|---:|"+strings.Repeat("---:|", 3*len(Eras)))
	for i, title := range titles {
		fmt.Fprintf(w, "| %s | %d |", title, scores[i][0].Tracks)
		for _, s := range scores[i] {
			fmt.Fprintf(w, " %.1f | %.1f | %.3f |", 100*s.Family, 100*s.Coarse, s.FamilyLoss)
		}
		fmt.Fprintln(w)
	}
}

// WriteConfusions writes, by family, what share was told right in each era and what the others were taken for.
func WriteConfusions(w io.Writer, scores []Score) {
	fmt.Fprint(w, "\n| family | tracks |")
	for _, e := range Eras {
		fmt.Fprintf(w, " %s: right | taken for |", e.Name)
	}
	fmt.Fprintln(w, "\n|---|---:|"+strings.Repeat("---:|---|", len(Eras)))
	for f, name := range Families {
		if scores[0].of[f] == 0 {
			continue
		}
		fmt.Fprintf(w, "| %s | %.0f |", name, scores[0].of[f])
		for _, s := range scores {
			fmt.Fprintf(w, " %.0f %% | %s |", 100*s.right[f]/s.of[f], s.takenFor(f))
		}
		fmt.Fprintln(w)
	}
}

// WriteMatrix writes the whole confusion: a row per family, a column per family it was heard as.
func (s Score) WriteMatrix(w io.Writer) {
	fmt.Fprintf(w, "\n| is, heard as | %s |\n|---|%s\n", strings.Join(Families, " | "), strings.Repeat("---:|", len(Families)))
	for f, name := range Families {
		if s.of[f] == 0 {
			continue
		}
		fmt.Fprintf(w, "| %s |", name)
		for g := range Families {
			switch n := s.confusion[f][g]; {
			case n == 0:
				fmt.Fprint(w, "  |")
			case f == g:
				fmt.Fprintf(w, " **%d** |", n)
			default:
				fmt.Fprintf(w, " %d |", n)
			}
		}
		fmt.Fprintln(w)
	}
}
