package text

import (
	"encoding/csv"
	"fmt"
	"io"
	"math"
	"strconv"

	"foldout/plan/sheet"
)

// Sweep writes a line for each number of pairs, what each buys, and the advice.
func Sweep(w io.Writer, s *sheet.Sweep) error {
	p := newPrinter(w)
	p.line("%s: %s\n", s.Title, count(s.Tracks, "track"))
	p.line("%5s %5s %8s %9s %9s %9s %9s %9s", "pairs", "used", "left", "overlap", "overlap", "loudest", "level", "inter-")
	p.line("%5s %5s %8s %9s %9s %9s %9s %9s", "", "", "within", "inside", "across", "pair dB", "spread dB", "mod. dB")
	for _, x := range s.Points {
		mark := " "
		if x.Pairs == s.Recommend {
			mark = "*"
		}
		f := &x.Figures
		p.line("%s%4d %5d %6.0f %% %7.0f %% %7.0f %% %9.1f %9.1f %9s", mark, x.Pairs, x.Used, 100*x.SpreadPC, 100*f.RegisterOverlap, 100*f.OverlapAcross,
			f.LoudestPairDB, f.LevelSpreadDB, orNone(float64(f.IntermodulationDB)))
	}
	p.head("What each pair buys")
	for _, x := range s.Points {
		p.item(fmt.Sprintf("  %2d  ", x.Pairs), x.Buys)
	}
	p.head("Recommendation")
	p.item("  ", s.Advice)
	p.item("  ", "foldout explain --glossary says what each figure means.")
	return p.err
}

func orNone(v float64) string {
	if math.IsInf(v, 0) || math.IsNaN(v) {
		return "none"
	}
	return fmt.Sprintf("%.1f", v)
}

// SweepCSV writes one row per number of pairs.
func SweepCSV(w io.Writer, s *sheet.Sweep) error {
	rows := [][]string{{"pairs", "pairs_used", "spread_share", "within_spread", "silhouette", "register_overlap", "register_overlap_across", "loudest_pair_db", "level_spread_db", "intermodulation_db", "gap", "buys"}}
	number := func(v float64) string {
		if math.IsInf(v, 0) || math.IsNaN(v) {
			return ""
		}
		return strconv.FormatFloat(v, 'f', -1, 64)
	}
	for _, x := range s.Points {
		f := &x.Figures
		rows = append(rows, []string{strconv.Itoa(x.Pairs), strconv.Itoa(x.Used), number(x.SpreadPC), number(f.WithinSpread), number(f.Silhouette), number(f.RegisterOverlap),
			number(f.OverlapAcross), number(f.LoudestPairDB), number(f.LevelSpreadDB), number(float64(f.IntermodulationDB)), number(x.Gap), x.Buys})
	}
	return csv.NewWriter(w).WriteAll(rows)
}
