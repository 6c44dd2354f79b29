package plan

// Figures are the figures of merit of a sheet.
type Figures struct {
	WithinSpread float64 `json:"within_spread"` // mean squared distance of a track from its pair's centre, 0 best
	Silhouette   float64 `json:"silhouette"`    // mean over tracks, -1..1
	PairsUsed    int     `json:"pairs_used"`
}
