package sheet

import (
	"fmt"
	"math"

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
	{"loudest less quietest pair", "level spread", func(f *Figures) string { return fmt.Sprintf("%.1f dB", f.LevelSpreadDB) }},
	{"loudest pair re the whole mix", "loudest pair", func(f *Figures) string { return fmt.Sprintf("%.1f dB", f.LoudestPairDB) }},
	{"crowding (1 even)", "crowding", func(f *Figures) string { return fmt.Sprintf("%.1f", f.Crowding) }},
	{"intermodulation exposure", "intermodulation exposure", func(f *Figures) string { return decibelText(f.IntermodulationDB) }},
	{"added outside own bands", "outside own bands", func(f *Figures) string { return decibelText(f.OutsideBandsDB) }},
}

func decibelText(d features.DB) string {
	if v := float64(d); math.IsInf(v, 0) || math.IsNaN(v) {
		return "none"
	}
	return fmt.Sprintf("%.1f dB", float64(d))
}
