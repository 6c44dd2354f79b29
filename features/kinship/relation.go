package kinship

// Kind says how one track is kin to another.
type Kind int

// The kinds, from the closest on. Up to PartOfSum both tracks carry one performance and belong together; Return goes
// with its source; Double and Bleed only say that the two are neighbours.
const (
	Unrelated   Kind = iota
	Identical        // the same waveform, but for gain and polarity
	Copy             // one performance through a linear path: gain, delay, filter, polarity, another microphone at the same spot
	Compressed       // one performance, shaped by dynamics, distortion or a moving filter
	SplitStereo      // left and right mono files of one stereo sound
	PartOfSum        // A is a sum of several tracks, processed or not; B is one of them
	Return           // A is an effect on B, smeared over time
	Double           // the same notes, another performance
	Bleed            // the same sound heard by two microphones
)

var kindNames = [...]string{"unrelated", "identical", "copy", "compressed", "split stereo", "part of sum", "return", "double", "bleed"}

// String names the kind in lower case.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		return "unknown"
	}
	return kindNames[k]
}

// Tie reports whether tracks of this kin belong on one bus whatever else speaks against it.
func (k Kind) Tie() bool { return k >= Identical && k <= Return }

// Relation is one finding about two tracks, by their positions in the list given to Compare. Where the kind has a
// direction, A is made from B: the processed copy, the sum, the return. Otherwise A < B.
type Relation struct {
	A, B            int
	Kind            Kind
	LagSeconds      float64 // A comes this much after B
	PolarityFlipped bool
	Coherence       float64 // power-weighted mean magnitude-squared coherence at the best lag, 40 Hz to 1.75 kHz; 0..1
	Share           float64 // of A's power that is a linear image of B, tail included; 0..1
	Confidence      float64 // 0..1: how far inside its class the measurement lies
}

// Relate compares all tracks and returns what binds them, ordered by A, then B. Silent tracks have no relations.
func Relate(sketches []Sketch) []Relation { return Compare(sketches).Relations() }
