// Package features turns sound into numbers: one streaming pass over a track gives its Profile.
//
// In goes a path to an audio file, out comes an Analysis: the Profile (levels in dB or LUFS, frequencies in hertz,
// times in seconds), the timbre vector used by the role model, and the reduced-rate sketch used to find copies and
// layers. Sources: ITU-R BS.1770-5, EBU Tech 3342, IEC 61260-1, IEC 60268-17, Peeters 2004; each sub-package names
// its own.
package features

import (
	"foldout/features/kinship"
)

// Profile holds the numbers measured from one track. Figures are of the whole file; where a file has several
// channels, levels are the highest of any channel and spectra are power averages over the channels.
//
// A track that is silent throughout has levels of minus infinity, no frequencies and shares of 0; one in which nothing rose or
// fell has no attack or decay.
type Profile struct {
	File         string  `json:"file"` // path below the measured folder, with forward slashes
	SampleRateHz int     `json:"sample_rate_hz"`
	Channels     int     `json:"channels"`
	BitDepth     int     `json:"bit_depth"` // valid bits of one sample
	Float        bool    `json:"float"`
	Frames       int64   `json:"frames"`
	DurationS    float64 `json:"duration_s"`

	TimeReference int64  `json:"time_reference_samples"` // bext: first sample, counted from midnight; 0 without bext. Where somebody says when the file begins (Options.Starts), that
	Description   string `json:"description,omitempty"`  // bext description

	IntegratedLUFS   DB `json:"integrated_lufs"`
	LoudnessRangeLU  DB `json:"loudness_range_lu"`
	MaxMomentaryLUFS DB `json:"max_momentary_lufs"`
	MaxShortTermLUFS DB `json:"max_short_term_lufs"`
	SamplePeakDBFS   DB `json:"sample_peak_dbfs"`
	TruePeakDBTP     DB `json:"true_peak_dbtp"`
	RMSDBFS          DB `json:"rms_dbfs"`        // plain rms: a full-scale sine reads -3.01
	ActiveRMSDBFS    DB `json:"active_rms_dbfs"` // rms over the time the track sounds
	CrestDB          DB `json:"crest_db"`        // sample peak over rms while sounding
	PeakToLoudnessDB DB `json:"peak_to_loudness_db"`

	DCOffset      float64  `json:"dc_offset"` // fraction of full scale, largest of any channel
	ClippedRuns   int      `json:"clipped_runs"`
	NonFinite     int64    `json:"non_finite_samples"`
	Wild          int64    `json:"wild_samples"` // beyond 1e20, taken as full scale
	NoiseFloorDB  DB       `json:"noise_floor_dbfs"`
	ActiveShare   float64  `json:"active_share"` // 0..1, fraction of time the track sounds
	Silent        bool     `json:"silent"`       // never above the silence gate
	VUMaxDB       DB       `json:"vu_max_db"`    // highest VU deflection in dB re a full-scale sine's reading
	CentroidHz    Positive `json:"centroid_hz"`  // power centroid of the long-term Welch spectrum
	SpreadHz      Positive `json:"spread_hz"`
	Rolloff85Hz   Positive `json:"rolloff_85_hz"` // 85 % of the power lies below
	Flatness      float64  `json:"flatness"`      // 0 a line .. 1 flat
	OctaveDB      Bands    `json:"octave_db"`     // ten IEC 61260-1 octave bands re the total
	RegisterShare Shares   `json:"register_share"`

	OnsetRateHz        float64  `json:"onset_rate_hz"` // onsets a second while sounding
	AttackS            Positive `json:"attack_s"`      // median time from 10 % to 90 % of an onset's rise
	DecayS             Positive `json:"decay_s"`       // median time to fall 20 dB, extrapolated from the first 10 dB
	TransientToSustain DB       `json:"transient_to_sustain_db"`
	Tonality           float64  `json:"tonality"` // 0 percussive .. 1 harmonic, FitzGerald 2010

	Correlation float64  `json:"correlation"` // -1..1 between left and right; 1 for mono
	SideToMidDB DB       `json:"side_to_mid_db"`
	BalanceDB   DB       `json:"balance_db"`      // left over right; 0 for mono
	DualMono    bool     `json:"dual_mono"`       // a stereo file holding one mono signal
	Notes       []string `json:"notes,omitempty"` // oddities of the file that were tolerated, in plain words
}

// Analysis is everything the pass over one file gives.
type Analysis struct {
	Path    string
	Profile Profile
	Timbre  []float32      // see package timbre for the names of its elements
	Sketch  kinship.Sketch // see package kinship; from the cache without waveforms, see Whole

	place cacheEntry // where the cache keeps it, with the sketch
	waves *waves     // of the sketch, while they are in the cache; nil where the sketch has them
}
