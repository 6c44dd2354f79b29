package trace

import "foldout/features"

// Schema is the version of Result in JSON.
const Schema = 1

// Result is all that a recording says. Figures that do not exist are null in JSON.
type Result struct {
	Schema         int         `json:"schema"`
	Return         string      `json:"return"`
	SampleRateHz   int         `json:"sample_rate_hz"`
	Rig            string      `json:"rig,omitempty"`
	Unit           string      `json:"unit,omitempty"`
	ToneDBFS       float64     `json:"tone_dbfs"` // of the 1 kHz in the files
	ToleranceDB    float64     `json:"tolerance_db"`
	Channels       []Channel   `json:"channels"`
	Pairs          []Pair      `json:"pairs"`
	LatencySamples features.DB `json:"latency_samples"` // of the earliest output, at the first sync; from the start of the recording
	DriftPPM       float64     `json:"drift_ppm"`       // positive: the return is too long
	DriftSigmaPPM  float64     `json:"drift_sigma_ppm"` // how exactly it is known
	DriftFrom      string      `json:"drift_from"`      // "both sync signals" or "the tones"
	GainDB         features.DB `json:"gain_db"`         // that most outputs have
	Hum            *Hum        `json:"hum"`             // null: none heard
	NoiseDBFS      features.DB `json:"noise_dbfs"`      // of the louder side, rms, without hum
	NoiseADBFS     features.DB `json:"noise_dbfs_a"`
	PeakDBFS       features.DB `json:"peak_dbfs"`
	ClippedSamples int64       `json:"clipped_samples"`
	Together       *Together   `json:"together"` // null: not heard
	Complete       bool        `json:"complete"`
	Verdicts       []Verdict   `json:"verdicts"`
	CannotTell     []string    `json:"cannot_tell"`
	Moved          []string    `json:"moved,omitempty"` // against the baseline, where one was given
}

// Channel is one output.
type Channel struct {
	Output       int         `json:"output"`
	Label        string      `json:"label"`
	Alive        *bool       `json:"alive"`         // null: not heard, because the recording begins too late or ends too early
	Side         string      `json:"side"`          // left, right or both; empty where nothing arrives or the return is mono
	Polarity     string      `json:"polarity"`      // normal or inverted; empty where nothing arrives
	GainDB       features.DB `json:"gain_db"`       // return over file at 1 kHz
	OffDB        features.DB `json:"off_db"`        // against what most outputs have
	DelaySamples features.DB `json:"delay_samples"` // against the earliest output
	THDPercent   features.DB `json:"thd_percent"`   // at 1 kHz and operating level, relative to the fundamental
	THDNPercent  features.DB `json:"thdn_percent"`
	NoiseDBFS    features.DB `json:"noise_dbfs"` // of the side it arrives on, while nothing plays
	NoiseADBFS   features.DB `json:"noise_dbfs_a"`
	CrosstalkDB  features.DB `json:"crosstalk_db"` // the other side over this one, at 1 kHz
	LowHz        features.DB `json:"low_3db_hz"`   // where the response is 3 dB down; null: beyond 20 Hz
	HighHz       features.DB `json:"high_3db_hz"`  // null: beyond 20 kHz
	Dropouts     int         `json:"dropouts"`
	Response     []Point     `json:"response"`  // relative to 1 kHz
	Harmonics    []Harmonic  `json:"harmonics"` // over frequency

	leaks       bool    // crosstalk is over its limit, noise allowed for
	surePercent float64 // THD that is no noise
}

// Point is a level at a frequency.
type Point struct {
	Hz float64     `json:"hz"`
	DB features.DB `json:"db"`
}

// Harmonic is the level of one harmonic, relative to the fundamental, over the frequency of the fundamental.
type Harmonic struct {
	Order  int     `json:"order"`
	Points []Point `json:"points"`
}

// Pair is how the two outputs of a pair match.
type Pair struct {
	Outputs      [2]int      `json:"outputs"`
	Name         string      `json:"name,omitempty"`
	GainDB       features.DB `json:"right_over_left_db"`
	DelaySamples features.DB `json:"right_after_left_samples"`
}

// Hum is the mains in the silences: all its lines together, a full-scale sine at 0 dBFS, on the louder side.
type Hum struct {
	Hz        float64     `json:"hz"`
	DBFS      features.DB `json:"dbfs"`
	Harmonics []int       `json:"harmonics"`
}

// Together is what happened while all outputs played.
type Together struct {
	SummingDB  features.DB `json:"summing_db"`  // level of each output's tones in the sum against alone, the middle output
	ResidualDB features.DB `json:"residual_db"` // what is neither tone nor the noise of the silence, over the tones; the louder side
}

// Severities of a Verdict.
const (
	OK      = "ok"
	Note    = "note"
	Warning = "warning"
	Fault   = "fault"
)

// Verdict is one finding with what to do. Output is null where it concerns the whole loop.
type Verdict struct {
	Severity string `json:"severity"`
	Output   *int   `json:"output"`
	Text     string `json:"text"`
}

// Faulty says whether any verdict is a fault.
func (r *Result) Faulty() bool {
	for _, v := range r.Verdicts {
		if v.Severity == Fault {
			return true
		}
	}
	return false
}
