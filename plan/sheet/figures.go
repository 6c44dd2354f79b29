package sheet

import (
	"math"

	"foldout/features"
)

// Figures are the figures of merit of a sheet. The glossary explains each. Those of loudness need the sums of the pairs,
// which only the audio gives; they are NotMeasured until SetLoudness.
type Figures struct {
	WithinSpread    float64       `json:"within_spread"` // mean squared distance of a track from its pair's centre, 0 best
	Silhouette      float64       `json:"silhouette"`    // mean over tracks, -1..1
	PairsUsed       int           `json:"pairs_used"`
	RegisterOverlap float64       `json:"register_overlap"`        // 0..1: how far tracks are covered by the others of their pair
	OverlapAcross   float64       `json:"register_overlap_across"` // 0..1: how far they are covered by the other pairs
	LevelSpreadDB   features.DB   `json:"level_spread_db"`         // loudest pair less quietest
	LoudestPairDB   features.DB   `json:"loudest_pair_db"`         // loudest pair re all tracks together, 0 if there is one pair only
	Crowding        float64       `json:"crowding"`                // tracks of the fullest pair re an even share, 1 best
	Pairs           []PairFigures `json:"pairs"`
}

// PairFigures are the figures of one pair; of a free pair all are 0 or null.
type PairFigures struct {
	Tracks          int         `json:"tracks"`
	LoudnessLUFS    features.DB `json:"loudness_lufs"`    // integrated loudness of the sum
	RegisterOverlap float64     `json:"register_overlap"` // mean of its tracks
}

// NotMeasured stands for a level that nobody has measured, and for that of silence; null in JSON.
var NotMeasured = features.DB(math.Inf(-1))

// MeasuredLevel tells a level from NotMeasured.
func MeasuredLevel(d features.DB) bool { return !math.IsInf(float64(d), 0) && !math.IsNaN(float64(d)) }

// SetLoudness fills in the figures of loudness: of each pair's sum, and of the sum of all, in LUFS.
func (f *Figures) SetLoudness(pairs []features.DB, all features.DB) {
	f.LevelSpreadDB, f.LoudestPairDB = NotMeasured, NotMeasured
	most, least := math.Inf(-1), math.Inf(1)
	for n := range f.Pairs {
		f.Pairs[n].LoudnessLUFS = NotMeasured
		if n < len(pairs) && MeasuredLevel(pairs[n]) {
			f.Pairs[n].LoudnessLUFS = features.DB(Round(float64(pairs[n]), 2))
			most, least = max(most, float64(pairs[n])), min(least, float64(pairs[n]))
		}
	}
	if most >= least && MeasuredLevel(all) {
		f.LevelSpreadDB = features.DB(Round(most-least, 1))
		f.LoudestPairDB = features.DB(Round(most-float64(all), 1))
	}
}
