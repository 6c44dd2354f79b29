package sheet

// MaxSweep is the largest number of pairs that a sweep tries.
const MaxSweep = 64

// Sweep says what each added pair buys for one session.
type Sweep struct {
	Schema    int          `json:"schema"`
	Title     string       `json:"title"`
	Folder    string       `json:"folder"`
	Tracks    int          `json:"tracks"`
	Points    []SweepPoint `json:"points"` // one number of pairs each, ascending
	Groups    int          `json:"natural_groups"`
	GroupsRun int          `json:"natural_groups_tried_to"` // largest number of groups the gap statistic could look at
	GroupsOK  bool         `json:"natural_groups_found"`    // false if the gap statistic was still rising there
	Recommend int          `json:"recommended_pairs"`
	Advice    string       `json:"advice"`
}

// SweepPoint is the fold onto one number of pairs.
type SweepPoint struct {
	Pairs    int      `json:"pairs"`
	Used     int      `json:"pairs_used"`
	Names    []string `json:"names"`        // of the pairs in use
	SpreadPC float64  `json:"spread_share"` // within-pair spread re that of all tracks on one pair, 0..1
	Gap      float64  `json:"gap"`          // gap statistic; 0 beyond natural_groups_tried_to
	Figures  Figures  `json:"figures"`
	Buys     string   `json:"buys"` // what it brings over the point before
}
