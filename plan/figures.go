package plan

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"

	"foldout/cluster"
)

// Figures are the figures of merit of a sheet.
type Figures struct {
	WithinSpread float64 `json:"within_spread"` // mean squared distance of a track from its pair's centre, 0 best
	Silhouette   float64 `json:"silhouette"`    // mean over tracks, -1..1
	PairsUsed    int     `json:"pairs_used"`
}

// FigureRow is one figure of merit as people read it.
type FigureRow struct {
	Name string
	Text func(f *Figures) string
}

// FigureRows lists the figures in the order in which they are shown.
var FigureRows = []FigureRow{
	{"spread within pairs (0 best)", func(f *Figures) string { return fmt.Sprintf("%.3f", f.WithinSpread) }},
	{"silhouette (-1..1, 1 best)", func(f *Figures) string { return fmt.Sprintf("%.2f", f.Silhouette) }},
	{"pairs in use", func(f *Figures) string { return fmt.Sprintf("%d", f.PairsUsed) }},
}

// FiguresOf computes the figures of merit of any fold of the live tracks: labels holds the pair of each, 0..k-1, or -1
// for a track on no pair, which is left out. A fold without tracks has the zero Figures.
func (s *Session) FiguresOf(labels []int, k int) (Figures, error) {
	var f Figures
	x, on, _ := s.folded(labels)
	used := map[int]bool{}
	for _, l := range on {
		used[l] = true
	}
	f.PairsUsed = len(used)
	if len(on) == 0 {
		return f, nil
	}
	spread, err := s.spread(labels)
	if err != nil {
		return f, err
	}
	f.WithinSpread = round(spread, 4)
	sil, err := cluster.Silhouette(x, on)
	if err != nil {
		return f, err
	}
	f.Silhouette = round(sil.Mean, 3)
	return f, nil
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
		return nil, s.nameFailure(err)
	}
	return s.order(s.leaveFree(res.Labels, k), k), nil
}
