package sheet

// MaxSweep is the largest number of pairs that a sweep tries.
const MaxSweep = 64

// Sweep says what each added pair buys for one session.
type Sweep struct {
	Schema    int          `json:"schema"`
	Title     string       `json:"title"`
	Folder    string       `json:"folder"`
	Tracks    int          `json:"tracks"`
	Points    []SweepPoint `json:"points"`                  // one number of pairs each, ascending
	Families  []string     `json:"families"`                // kinds of track in the session, such as drums or lead vocals
	Groups    int          `json:"natural_groups"`          // by the gap statistic
	GroupsRun int          `json:"natural_groups_tried_to"` // largest number of groups the gap statistic could look at
	GroupsOK  bool         `json:"natural_groups_found"`    // false if the gap statistic was still rising there
	Enough    int          `json:"enough_pairs"`            // fewest that keep apart what nobody puts on one pair; 0 if none tried does
	Recommend int          `json:"recommended_pairs"`       // fewest that give every family a pair of its own, as far as tried
	Advice    string       `json:"advice"`
}

// SweepPoint is the fold onto one number of pairs.
type SweepPoint struct {
	Pairs    int        `json:"pairs"`
	Used     int        `json:"pairs_used"`
	Names    []string   `json:"names"`        // of the pairs in use
	Files    [][]string `json:"files"`        // of each pair
	SpreadPC float64    `json:"spread_share"` // within-pair spread re that of all tracks on one pair, 0..1; never rises with pairs
	Mixed    float64    `json:"mixed_share"`  // share of the tracks that share their pair with another family
	Gap      float64    `json:"gap"`          // gap statistic; 0 beyond natural_groups_tried_to
	Figures  Figures    `json:"figures"`
	Buys     string     `json:"buys"` // what it brings over the point before
}
