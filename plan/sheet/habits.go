package sheet

// Habits are what somebody's own sheets say about which kinds of track share a pair, where that differs from the trade's
// heights (package trade). They are read from a file (package habits) and kept in the sheets that were made with them.
type Habits struct {
	Name    string   `json:"name"`   // of the file
	Sheets  int      `json:"sheets"` // from so many they were learned
	Heights []Height `json:"heights"`
}

// Height is the squared distance at which two kinds of track, or two roles, meet: what meets low shares a pair first.
type Height struct {
	Kinds  []string `json:"kinds,omitempty"` // two kinds, or two roles:
	Roles  []string `json:"roles,omitempty"`
	Height float64  `json:"height"`
	Words  string   `json:"words,omitempty"` // what was seen: "bass leaves the drums from 5 pairs on: 3 of 3 sheets"
}
