package sheet

import (
	"fmt"
	"slices"

	"foldout/features"
)

// FigureRow is one figure of merit as people read it.
type FigureRow struct {
	Name string // as it is shown
	Word string // in the glossary
	Text func(f *Figures) string
}

// FigureRows lists the figures in the order in which they are shown.
var FigureRows = []FigureRow{
	{"spread within pairs (0 best)", "spread within pairs", func(f *Figures) string { return fmt.Sprintf("%.3f", f.WithinSpread) }},
	{"silhouette (-1..1)", "silhouette", func(f *Figures) string { return fmt.Sprintf("%.2f", f.Silhouette) }},
	{"pairs in use", "pair", func(f *Figures) string { return fmt.Sprintf("%d", f.PairsUsed) }},
	{"overlap inside pairs", "register overlap", func(f *Figures) string { return fmt.Sprintf("%.0f %%", 100*f.RegisterOverlap) }},
	{"overlap across pairs", "register overlap", func(f *Figures) string { return fmt.Sprintf("%.0f %%", 100*f.OverlapAcross) }},
	{"loudest less quietest pair", "level spread", func(f *Figures) string { return decibelText(f.LevelSpreadDB) }},
	{"loudest pair re the whole mix", "loudest pair", func(f *Figures) string { return decibelText(f.LoudestPairDB) }},
	{"crowding (1 even)", "crowding", func(f *Figures) string { return fmt.Sprintf("%.1f", f.Crowding) }},
}

func decibelText(d features.DB) string {
	if !MeasuredLevel(d) {
		return notMeasured
	}
	return fmt.Sprintf("%.1f dB", float64(d))
}

const notMeasured = "not measured"

// ShownRows are the rows in which any of the figures holds something.
func ShownRows(figures ...*Figures) (rows []FigureRow) {
	for _, r := range FigureRows {
		if slices.ContainsFunc(figures, func(f *Figures) bool { return r.Text(f) != notMeasured }) {
			rows = append(rows, r)
		}
	}
	return rows
}
