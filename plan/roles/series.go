package roles

// A series of voices under one name ("Voice 1" to "Voice 3") is a group of singers, and groups back the lead (common
// practice, no source). A name that says lead or backing by itself is left alone.
const (
	seriesLength = 3    // names that make a series
	plainlyLead  = 0.85 // probability from which a name says lead by itself
	groupBacks   = 0.8  // share of the voices' probability that goes to backing in a series
)

func hearSeries(hints []Hint) {
	count := map[string]int{}
	for _, h := range hints {
		count[h.Stem]++
	}
	for _, h := range hints {
		lead, backing := h.Role["lead vocal"], h.Role["backing vocal"]
		if h.Stem == "" || h.Kind != "" || count[h.Stem] < seriesLength || backing == 0 || lead <= backing || lead >= plainlyLead {
			continue
		}
		h.Role["lead vocal"] = (1 - groupBacks) * (lead + backing)
		h.Role["backing vocal"] = groupBacks * (lead + backing)
	}
}
