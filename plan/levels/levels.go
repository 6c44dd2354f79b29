// Package levels says what every pair of a sheet sends into the summing unit.
//
// In go a sheet.Sheet, the folder of its tracks and a rig.Rig; out come Levels: for each pair, and for the total of all
// pairs, peak, loudness, VU, correlation, the level at the summing input in dBu, the headroom of converter and unit, the
// trim that brings the pair to the operating level, and the tracks that cause overs. Pairs are summed sample by sample
// by package stems and measured in one pass of constant memory.
//
// # Levels
//
// Digital peaks are in dBFS or dBTP, full scale at 0; rms is plain rms, so that a full-scale sine reads -3.01 dBFS. A
// level in dBu is that of a sine with the same rms, for peaks that of a sine with the same peak: a pair's interface
// turns a sine at 0 dBFS into FullScaleDBu (rig). So peak dBu = dBTP + FullScaleDBu and rms dBu = rms dBFS + 3.01 +
// FullScaleDBu. The VU meter (IEC 60268-17, package dynamics) stands at the summing input and reads VU of the rig's
// alignment at DBu of the alignment, whatever interface feeds it. Of the two sides the higher counts.
package levels

import (
	"foldout/features"
	"foldout/plan/rig"
)

// SchemaVersion is the version of the JSON layout of Levels.
const SchemaVersion = 2

// Levels is the measured sheet.
type Levels struct {
	Schema       int           `json:"schema"`
	Title        string        `json:"title"`
	Rig          string        `json:"rig"`
	Unit         string        `json:"summing_unit"`
	Alignment    rig.Alignment `json:"alignment"`
	OperatingDBu float64       `json:"operating_dbu"` // of the unit, at its inputs
	MaxInputDBu  float64       `json:"max_input_dbu"` // what its inputs take before they clip
	Pan          string        `json:"pan"`
	RateHz       int           `json:"sample_rate_hz"`
	DurationS    float64       `json:"duration_s"`
	Pairs        []Pair        `json:"pairs"`
	Total        Sum           `json:"total"`           // of all pairs, before any trim
	Common       Trim          `json:"common_trim"`     // of all pairs alike
	Interfaces   []Box         `json:"interface_trims"` // of all pairs of an interface alike, so that the balance holds at the unit
	Notes        []string      `json:"notes"`
	Cautions     []string      `json:"cautions"`
}

// Pair is one pair with tracks.
type Pair struct {
	Number        int      `json:"pair"`
	Name          string   `json:"name"`
	Buses         []string `json:"buses"`
	Tracks        int      `json:"tracks"`
	Interface     string   `json:"interface"`
	Outputs       [2]int   `json:"outputs"`
	SummingInputs [2]int   `json:"summing_inputs"`
	FullScaleDBu  float64  `json:"full_scale_dbu"`
	Sum
	Input               Input       `json:"summing_input"`
	HeadroomConverterDB features.DB `json:"headroom_converter_db"` // true peak to 0 dBFS, negative when over
	HeadroomUnitDB      features.DB `json:"headroom_unit_db"`      // true peak to the unit's maximum input
	Trim                Trim        `json:"trim"`
	Overs               []Over      `json:"overs"`      // places, in time
	OverCount           int         `json:"over_count"` // stretches without a gap in which either side is beyond the limit
	OverS               float64     `json:"over_s"`     // length of them all
	Offenders           []Offender  `json:"offenders"`  // tracks that cause the overs, the worst first
}

// Box is an interface and the gain for its pairs. Where interfaces put out different levels at full scale, the hotter one is turned
// down by the difference, so that the mix reaches the unit in its own balance; the least trim of any pair then sets them
// all. Where they do not differ, every gain is the common trim.
type Box struct {
	Interface    string  `json:"interface"`
	FullScaleDBu float64 `json:"full_scale_dbu"`
	GainDB       float64 `json:"gain_db"`
	Pairs        []int   `json:"pairs"`
}

// Sum holds the figures of a stereo sum. Levels are null (minus infinity) for silence.
type Sum struct {
	SamplePeakDBFS   features.DB `json:"sample_peak_dbfs"`
	TruePeakDBTP     features.DB `json:"true_peak_dbtp"`
	IntegratedLUFS   features.DB `json:"integrated_lufs"`
	MaxShortTermLUFS features.DB `json:"max_short_term_lufs"`
	RMSDBFS          features.DB `json:"rms_dbfs"`     // plain rms of the louder side over the whole length
	VUMax            features.DB `json:"vu_max"`       // highest VU reading
	VULoud           features.DB `json:"vu_loud"`      // VU reading of loud passages, see Trim
	Correlation      float64     `json:"correlation"`  // -1..1; 0 where a side is silent
	MonoLossDB       features.DB `json:"mono_loss_db"` // what summing both sides to mono loses: 0 for equal sides, 3.01 for unrelated ones; null where nothing is left
}

// Input is what one summing input sees, the higher of both sides.
type Input struct {
	RMSDBu   features.DB `json:"rms_dbu"`
	VUMaxDBu features.DB `json:"vu_max_dbu"`
	PeakDBu  features.DB `json:"peak_dbu"`
}

// Trim is a gain and the rule that set it. The rule: loud passages read 0 VU. Loud passages are the highest twentieth of
// the readings within 20 dB of the highest; 0 VU is the operating level of the unit. The true peak caps the gain at
// -1 dBTP (EBU R 128) and at the unit's maximum input.
type Trim struct {
	GainDB  float64     `json:"gain_db"`
	WantsDB features.DB `json:"wants_db"`       // before the caps; null for silence
	Limit   string      `json:"limit"`          // what set it: "operating level", "true peak", "unit input", "silent"
	Pair    int         `json:"pair,omitempty"` // of a common trim: the pair that set it
}

// Over is a place beyond full scale of the converter or the maximum input of the unit: stretches within half a second of one
// another. Time and peak are those of the highest sample.
type Over struct {
	TimeS     float64     `json:"time_s"`
	Side      string      `json:"side"`
	PeakDBFS  features.DB `json:"peak_dbfs"` // of the samples; between them it may be higher
	PeakDBu   features.DB `json:"peak_dbu"`
	Stretches int         `json:"stretches"`
	BeyondS   float64     `json:"beyond_s"`
	Clips     string      `json:"clips"` // "converter", "unit" or "converter and unit"
	Tracks    []Offender  `json:"tracks"`
}

// Offender is a track's part in overs: its share of the peak (1 for all of it), on average where there are several.
type Offender struct {
	File  string  `json:"file"`
	Share float64 `json:"share"`
	Overs int     `json:"overs"` // in how many it takes part with a tenth or more
}
