package plan

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
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

// FiguresOf computes the figures of merit of any fold of the live tracks: labels holds the pair of each, 0..k-1, or -1
// for a track on no pair, which is left out. A fold without tracks has the zero Figures. For many folds of one session
// take Merits.
func (s *Session) FiguresOf(labels []int, k int) (Figures, error) {
	return s.Merits().Figures(labels, k)
}

// folded returns the rows of the space, the labels and the weights of the tracks that are on a pair.
func (s *Session) folded(labels []int) (x *mat.Dense, on []int, weights []float64) {
	if !slices.Contains(labels, -1) {
		return s.space, labels, s.weights
	}
	_, d := s.space.Dims()
	var rows []float64
	for p, l := range labels {
		if l >= 0 {
			rows, on, weights = append(rows, s.space.RawRowView(p)...), append(on, l), append(weights, s.weights[p])
		}
	}
	if len(on) == 0 {
		return nil, nil, nil
	}
	return mat.NewDense(len(on), d, rows), on, weights
}

// spread is the weighted mean squared distance of the tracks from the centres of their pairs.
func (s *Session) spread(labels []int) (float64, error) {
	x, on, weights := s.folded(labels)
	if len(on) == 0 {
		return 0, nil
	}
	within, err := cluster.WithinSS(x, on, weights)
	if err != nil {
		return 0, err
	}
	var mass float64
	for _, w := range weights {
		mass += w
	}
	return within / mass, nil
}

// foldLabels folds the tracks onto at most k pairs without asking how firm each place is.
func (s *Session) foldLabels(k int) ([]int, error) {
	res, err := cluster.KMeans(s.space, k, cluster.Options{Weights: s.weights, MustLink: s.units, CannotLink: s.apart, Pin: s.pins, Restarts: restarts, Seed: s.opt.Seed})
	if err != nil {
		return nil, s.nameFailure(err, k)
	}
	return s.order(s.leaveFree(res.Labels, k), k), nil
}
