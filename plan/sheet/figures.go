package sheet

import (
	"foldout/features"
)

// Figures are the figures of merit of a sheet. The glossary explains each.
type Figures struct {
	WithinSpread      float64       `json:"within_spread"` // mean squared distance of a track from its pair's centre, 0 best
	Silhouette        float64       `json:"silhouette"`    // mean over tracks, -1..1
	PairsUsed         int           `json:"pairs_used"`
	RegisterOverlap   float64       `json:"register_overlap"`        // 0..1: how far tracks are covered by the others of their pair
	OverlapAcross     float64       `json:"register_overlap_across"` // 0..1: how far they are covered by the other pairs
	LevelSpreadDB     float64       `json:"level_spread_db"`         // loudest pair less quietest
	LoudestPairDB     float64       `json:"loudest_pair_db"`         // loudest pair re all tracks together, 0 if there is one pair only
	Crowding          float64       `json:"crowding"`                // tracks of the fullest pair re an even share, 1 best
	IntermodulationDB features.DB   `json:"intermodulation_db"`      // products that arise only because tracks share a pair, re the pair, power mean of the pairs; null for none
	OutsideBandsDB    features.DB   `json:"outside_bands_db"`        // what the channel adds outside the pairs' own bands, likewise
	Pairs             []PairFigures `json:"pairs"`
}

// PairFigures are the figures of one pair; of a free pair all are 0 or null.
type PairFigures struct {
	Tracks            int         `json:"tracks"`
	LoudnessLUFS      features.DB `json:"loudness_lufs"`      // power sum of the tracks' integrated loudness
	RegisterOverlap   float64     `json:"register_overlap"`   // mean of its tracks
	IntermodulationDB features.DB `json:"intermodulation_db"` // re the pair's material at the operating level
	OutsideBandsDB    features.DB `json:"outside_bands_db"`
}
