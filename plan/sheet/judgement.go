package sheet

// Judgement is what Check says of a manual sheet. Pair numbers count from 1.
type Judgement struct {
	Schema    int           `json:"schema"`
	Title     string        `json:"title"`
	Folder    string        `json:"folder"`
	Sheet     string        `json:"sheet"` // file name of the manual sheet
	Pairs     []PairVerdict `json:"pairs"`
	Misfits   []Misfit      `json:"misfits"`   // surest first
	Doubtful  []Misfit      `json:"doubtful"`  // worth a look, most doubtful first
	Parted    []Parted      `json:"parted"`    // copies, sides and returns away from what they come from
	Praise    []string      `json:"praise"`    // what is right
	Missing   []string      `json:"missing"`   // tracks of the folder that the sheet does not place
	Unknown   []string      `json:"unknown"`   // tracks of the sheet that are not in the folder
	SetAside  []SetAside    `json:"set_aside"` // tracks that are judged nowhere
	Notes     []string      `json:"notes"`
	Manual    Figures       `json:"manual_figures"`
	Corrected Figures       `json:"corrected_figures"` // of the manual sheet with every misfit moved
	Suggested Figures       `json:"suggested_figures"` // of our own fold onto as many pairs
}

// Misfit is a track that does not belong on the pair it is on.
type Misfit struct {
	File          string   `json:"file"`
	On            int      `json:"on"`
	OnName        string   `json:"on_name"`
	Suggested     int      `json:"suggested"`
	SuggestedName string   `json:"suggested_name"`
	Certainty     float64  `json:"certainty"` // 0..1: probability that the track is out of place
	Role          string   `json:"role"`
	Reasons       []Reason `json:"reasons"`
	Gain          float64  `json:"gain"` // by how much the move alone lowers the within-pair spread; positive is better
}

// PairVerdict is what Check says of one pair.
type PairVerdict struct {
	Name    string `json:"name"`
	Tracks  int    `json:"tracks"`
	Holds   string `json:"holds"`   // what its tracks are, most numerous kind first
	Verdict string `json:"verdict"` // "fine", "crowded", "idle", "mixed"
	Text    string `json:"text"`
}

// Parted are two tracks of one performance on different pairs.
type Parted struct {
	File   string `json:"file"`
	On     int    `json:"on"`
	Source string `json:"source"`
	Home   int    `json:"home"`
	Text   string `json:"text"`
}
