package text

import (
	"fmt"
	"io"
	"math"
	"strconv"

	"foldout/features"
	"foldout/features/csvsafe"
	"foldout/plan/sheet"
)

// Sweep writes a line for each number of pairs, what each buys, and the advice.
func Sweep(w io.Writer, s *sheet.Sweep) error {
	p := newPrinter(w)
	p.line("%s: %s\n", s.Title, count(s.Tracks, "track"))
	rows := [][]string{{"pairs", "used", "left", "beside", "overlap", "overlap", "loudest", "level"}, {"", "", "within", "others", "inside", "across", "pair dB", "spread dB"}}
	percent := func(v float64) string { return fmt.Sprintf("%.0f %%", 100*v) }
	for _, x := range s.Points {
		mark := " "
		if x.Pairs == s.Recommend {
			mark = "*"
		}
		f := &x.Figures
		rows = append(rows, []string{fmt.Sprintf("%s%d", mark, x.Pairs), strconv.Itoa(x.Used), percent(x.SpreadPC), percent(x.Mixed), percent(f.RegisterOverlap), percent(f.OverlapAcross),
			orDash(f.LoudestPairDB), orDash(f.LevelSpreadDB)})
	}
	p.table(rows)
	p.head("What each pair buys")
	for _, x := range s.Points {
		p.item(fmt.Sprintf("  %2d  ", x.Pairs), x.Buys)
	}
	p.head("Recommendation")
	p.item("  ", s.Advice)
	p.item("  ", "foldout explain --glossary says what each figure means.")
	return p.err
}

func orDash(v features.DB) string {
	if !sheet.MeasuredLevel(v) {
		return "-"
	}
	return fmt.Sprintf("%.1f", float64(v))
}

// SweepCSV writes one row per number of pairs.
func SweepCSV(w io.Writer, s *sheet.Sweep) error {
	rows := [][]string{{"pairs", "pairs_used", "spread_share", "within_spread", "silhouette", "register_overlap", "register_overlap_across", "loudest_pair_db", "level_spread_db", "mixed_share", "gap", "buys"}}
	number := func(v float64) string {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	for _, x := range s.Points {
		f := &x.Figures
		rows = append(rows, []string{strconv.Itoa(x.Pairs), strconv.Itoa(x.Used), number(x.SpreadPC), number(f.WithinSpread), number(f.Silhouette), number(f.RegisterOverlap),
			number(f.OverlapAcross), number(float64(f.LoudestPairDB)), number(float64(f.LevelSpreadDB)), number(x.Mixed), number(x.Gap), x.Buys})
	}
	return csvsafe.Write(w, rows)
}
