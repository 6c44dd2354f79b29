package printcheck

import (
	"fmt"
	"math"

	"foldout/features"
)

// SchemaVersion is that of Result's JSON.
const SchemaVersion = 1

// Result is what a comparison found. Times are in seconds of the mix unless said otherwise.
type Result struct {
	Schema int  `json:"schema"`
	Mix    File `json:"mix"`
	Print  File `json:"print"`

	// DelaySamples is where the mix's first frame lies in the print, in samples of the mix's rate: positive when the print
	// is later. It is the delay of the linear path: where a chain changes phase, what minimum phase explains is not counted
	// (DelayReading says which reading of the phase was taken).
	DelaySamples float64 `json:"delay_samples"`
	DelayMS      float64 `json:"delay_ms"`
	DelayReading string  `json:"delay_reading"` // "linear phase" or "minimum phase"
	// GainDB is the gain that most third octaves share, print over mix.
	GainDB   float64 `json:"gain_db"`
	Polarity string  `json:"polarity"` // normal, inverted, left inverted, right inverted
	// DriftPPM is by how much the print is too long; 0 where it cannot be told from none.
	DriftPPM float64 `json:"drift_ppm"`
	Swapped  bool    `json:"swapped"`
	Sides    [2]Side `json:"sides"` // left and right of the mix

	// LinearResidualDB is the energy of what the best linear fit leaves over that of the print.
	LinearResidualDB float64 `json:"linear_residual_db"`

	Segments []Segment    `json:"segments"`
	Missing  []Missing    `json:"missing"`
	Bands    []Band       `json:"bands"`
	Register []Register   `json:"registers"`
	Levels   Levels       `json:"levels"`
	Width    []Width      `json:"width"`
	Noise    *Noise       `json:"noise"`     // null: no passage is soft enough to tell
	Hum      *Hum         `json:"hum"`       // null: none found
	Harm     *Harmonics   `json:"harmonics"` // null: cannot be told
	Curve    []CurvePoint `json:"level_curve"`
	Events   []Event      `json:"events"`
	Lossy    *Lossy       `json:"lossy"` // null: no sign of a lossy codec
	Claims   []Claim      `json:"claims"`
	Notes    []string     `json:"notes"`

	aligned  *aligned
	gathered *gathered
	prior    []float64
	folds    [2]filters
	parts    []stretch
	watched  *watched
	fraction float64 // frames by which the print is later than the course says
}

// File says what was read.
type File struct {
	Name      string  `json:"name"`
	RateHz    int     `json:"rate_hz"`
	Channels  int     `json:"channels"`
	DurationS float64 `json:"duration_s"`
}

// Side is one side's own gain and delay.
type Side struct {
	GainDB       float64 `json:"gain_db"`
	DelaySamples float64 `json:"delay_samples"`
	Polarity     string  `json:"polarity"` // normal or inverted
}

// Segment is a stretch of the mix that the print holds without a break.
type Segment struct {
	FromS        float64 `json:"from_s"`
	ToS          float64 `json:"to_s"`
	DelaySamples float64 `json:"delay_samples"` // of the mix's first frame, were the whole print like this segment
	// JumpSamples is by how much later than the segment before the print has got; negative when frames were lost.
	JumpSamples float64 `json:"jump_samples"`
}

// Missing is a stretch of the mix that has no place in the print.
type Missing struct {
	FromS float64 `json:"from_s"`
	ToS   float64 `json:"to_s"`
}

// Register is the mean of the bands of one register of the trade.
type Register struct {
	Name   string  `json:"name"`
	FromHz float64 `json:"from_hz"`
	ToHz   float64 `json:"to_hz"`
	DB     float64 `json:"db"`
	CIDB   float64 `json:"ci_db"`
}

// Levels are the figures of the part that both files hold.
type Levels struct {
	DurationS float64 `json:"duration_s"`
	Mix       Level   `json:"mix"`
	Print     Level   `json:"print"`
}

// Level is loudness after ITU-R BS.1770-5, range after EBU Tech 3342.
type Level struct {
	IntegratedLUFS   features.DB `json:"integrated_lufs"`
	LoudnessRangeLU  features.DB `json:"loudness_range_lu"`
	TruePeakDBTP     features.DB `json:"true_peak_dbtp"`
	SamplePeakDBFS   features.DB `json:"sample_peak_dbfs"`
	RMSDBFS          features.DB `json:"rms_dbfs"`
	CrestDB          features.DB `json:"crest_db"` // sample peak over rms
	PeakToLoudnessLU features.DB `json:"peak_to_loudness_lu"`
	ClippedSamples   int64       `json:"clipped_samples"` // in runs of three or more at the very top
}

// Width is side against mid, and the correlation of both sides, in one octave-wide or wider band.
type Width struct {
	FromHz           float64     `json:"from_hz"`
	ToHz             float64     `json:"to_hz"`
	MixSideDB        features.DB `json:"mix_side_db"`
	PrintSideDB      features.DB `json:"print_side_db"`
	MixCorrelation   float64     `json:"mix_correlation"`
	PrintCorrelation float64     `json:"print_correlation"`
}

// Lossy is the sign of a lossy codec in the print's way.
type Lossy struct {
	CutoffHz float64 `json:"cutoff_hz"` // where the top has been cut off; 0 when it has not
	RestDB   float64 `json:"rest_db"`   // what follows the signal without being a copy of it, above 4 kHz, against the signal
	Text     string  `json:"text"`
}

// Registers of the trade (common practice, no source).
var registers = []struct {
	name      string
	low, high float64
}{{"sub", 17, 60}, {"lows", 60, 250}, {"low mids", 250, 500}, {"mids", 500, 2000}, {"upper mids", 2000, 4000}, {"presence", 4000, 8000}, {"air", 8000, 22400}}

// register is the mean difference of the bands whose middle lies in a range, each counted alike, and half its interval,
// taken as if the bands moved together. NaN without bands.
func register(bands []Band, low, high float64) (db, ci float64) {
	n := 0.0
	for _, b := range bands {
		if b.Hz >= low && b.Hz <= high && b.CIDB < 6 {
			db, ci, n = db+b.DB, ci+b.CIDB, n+1
		}
	}
	if n == 0 {
		return math.NaN(), math.NaN()
	}
	return db / n, ci / n
}

func registersOf(bands []Band) []Register {
	out := []Register{}
	for _, r := range registers {
		if db, ci := register(bands, r.low, math.Nextafter(r.high, 0)); !math.IsNaN(db) {
			out = append(out, Register{Name: r.name, FromHz: r.low, ToHz: r.high, DB: db, CIDB: ci})
		}
	}
	return out
}

// Words says what changed in tone, as one would across the desk.
func (r *Result) Words() string {
	text := ""
	for _, g := range r.Register {
		if math.Abs(g.DB) >= 0.1 && math.Abs(g.DB) > g.CIDB {
			if text != "" {
				text += ", "
			}
			text += fmt.Sprintf("%s %+.1f dB", g.Name, g.DB)
		}
	}
	// A narrow change that its register hides.
	for i, b := range r.Bands {
		peak := math.Abs(b.DB) >= 0.5 && b.CIDB < math.Abs(b.DB)/2
		for _, j := range []int{i - 1, i + 1} {
			if j >= 0 && j < len(r.Bands) && math.Abs(r.Bands[j].DB) > math.Abs(b.DB) {
				peak = false
			}
		}
		if peak && i > 0 && i < len(r.Bands)-1 {
			if text != "" {
				text += ", "
			}
			text += fmt.Sprintf("%s %+.1f dB", hertz(b.Hz), b.DB)
		}
	}
	if text == "" {
		return "no change of tone beyond a tenth of a decibel"
	}
	return text
}

func hertz(hz float64) string {
	if hz >= 1000 {
		return fmt.Sprintf("%g kHz", hz/1000)
	}
	return fmt.Sprintf("%g Hz", hz)
}
