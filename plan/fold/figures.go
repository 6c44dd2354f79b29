package fold

import (
	"slices"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
	"foldout/plan/sheet"
)

// FiguresOf computes the figures of merit of any fold of the live tracks: labels holds the pair of each, 0..k-1, or -1
// for a track on no pair, which is left out. A fold without tracks has the zero Figures. For many folds of one session
// take Merits.
func (s *Session) FiguresOf(labels []int, k int) (sheet.Figures, error) {
	return s.Merits().Figures(labels, k)
}

// folded returns the rows of the space, the labels and the weights of the tracks that are on a pair.
func (s *Session) folded(labels []int) (x *mat.Dense, on []int, weights []float64) {
	if !slices.Contains(labels, -1) {
		return s.Space, labels, s.weights
	}
	_, d := s.Space.Dims()
	var rows []float64
	for p, l := range labels {
		if l >= 0 {
			rows, on, weights = append(rows, s.Space.RawRowView(p)...), append(on, l), append(weights, s.weights[p])
		}
	}
	if len(on) == 0 {
		return nil, nil, nil
	}
	return mat.NewDense(len(on), d, rows), on, weights
}

// Spread is the weighted mean squared distance of the tracks from the centres of their pairs.
func (s *Session) Spread(labels []int) (float64, error) {
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

// FoldLabels folds the tracks onto at most k pairs without asking how firm each place is.
func (s *Session) FoldLabels(k int) ([]int, error) {
	labels, _, _, err := s.search(k)
	return labels, err
}
