package kinship

// Kind says how one track is kin to another.
type Kind int

// The kinds. Up to Return both tracks carry one performance and belong together if that is certain enough; Double and
// Bleed only say that the two are neighbours.
const (
	Unrelated Kind = iota
	Identical      // a copy: the same waveform, but for gain and polarity
	Copy           // one performance: a filter, a delay, another microphone at the same spot, or which was first cannot be told
	Processed      // A is B through dynamics, distortion, a moving delay or another amplifier
	Sides          // left and right mono files of one stereo sound
	Sum            // A is a sum of several tracks, processed or not; B is one of them
	Return         // A is an effect on B, smeared over time
	Double         // the same notes, another performance
	Bleed          // the same sound heard by two microphones
)

var kindNames = [...]string{"unrelated", "copy", "copy", "processed", "sides", "sum", "return", "double", "bleed"}

// String names the kind in lower case.
func (k Kind) String() string {
	if k < 0 || int(k) >= len(kindNames) {
		return "unknown"
	}
	return kindNames[k]
}

// Tie reports whether tracks of this kin belong on one pair, if the finding is certain.
func (k Kind) Tie() bool { return k >= Identical && k <= Return }

// Relation is one finding about two tracks, by their positions in the list given to Compare. Where the kind has a
// direction, A is made from B: the processed copy, the sum, the return. Otherwise A < B.
type Relation struct {
	A, B            int
	Kind            Kind
	LagSeconds      float64 // A comes this much after B
	PolarityFlipped bool
	Coherence       float64 // power-weighted mean magnitude-squared coherence at the best lag, 40 Hz to 1.75 kHz; 0..1
	Share           float64 // of A's power that is a linear image of B, tail included; of a sum, B's part of it; 0..1
	Confidence      float64 // 0..1: the probability that it is so, by this pair alone
	Sides           float64 // 0..1: the probability that they are left and right of one stereo sound, whatever kind is stated; 0 where a file has two channels
	Faint           bool    // no waveform explains it: it binds beyond doubt alone
	Copy            float64 // 0..1: the probability that they are kin, where a copy is the most probable kin; else 0
	Bleed           float64 // 0..1, beside Copy: that two microphones hear one sound. What is left of 1 is neither
	Outdone         bool    // the rest of the session has a better explanation; see compete
}

// Enough is the certainty from which the relation binds, 0..1.
func (r Relation) Enough() float64 {
	if r.Faint {
		return beyondDoubt
	}
	return Binds
}

// Binding reports whether the two must share a pair: a kind that ties, certain, and the best explanation there is.
func (r Relation) Binding() bool { return r.Kind.Tie() && r.Confidence >= r.Enough() && !r.Outdone }

// Relate compares all tracks and returns what they are to one another, ordered by A, then B. Silent tracks have no relations.
func Relate(sketches []Sketch) []Relation { return Compare(sketches).Relations() }
