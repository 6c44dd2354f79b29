// Package plan turns profiles and a number of pairs into a Sheet: which tracks share a stereo pair, under which
// names, and why, in measured numbers.
package plan

import "foldout/features"

// SchemaVersion is the version of the JSON layout of a Sheet.
const SchemaVersion = 1

// Sheet is the saved result: every track's bus and pair, the reasons, and the figures of merit.
type Sheet struct {
	Schema   int        `json:"schema"`
	Title    string     `json:"title"`  // name of the session's folder
	Folder   string     `json:"folder"` // absolute path of the measured folder
	Settings Settings   `json:"settings"`
	Pairs    []Pair     `json:"pairs"`
	SetAside []SetAside `json:"set_aside"`
	Figures  Figures    `json:"figures"`
	Warnings []string   `json:"warnings"`
}

// Settings are the choices that make a sheet repeatable.
type Settings struct {
	Pairs    int      `json:"pairs"`
	Seed     uint64   `json:"seed"`
	EarsOnly bool     `json:"ears_only"`
	Tie      []string `json:"tie,omitempty"`
	Apart    []string `json:"apart,omitempty"`
	Pin      []string `json:"pin,omitempty"`
	Grow     string   `json:"grow,omitempty"` // name of the sheet whose pairs were split
	Like     string   `json:"like,omitempty"` // name of the sheet whose pairs were kept
	Version  string   `json:"version"`
}

// Pair is one stereo pair of line outputs and the tracks on it. Tracks may be empty: a free pair.
type Pair struct {
	Name    string      `json:"name"`
	Outputs [2]int      `json:"outputs"` // line outputs counted from 1; pair n has 2n-1 and 2n unless a rig says otherwise
	Reason  string      `json:"reason"`
	Buses   []string    `json:"buses"` // in the order of first use
	Tracks  []Placement `json:"tracks"`
}

// Placement is one track's place on a pair.
type Placement struct {
	File       string   `json:"file"` // path below Folder, with forward slashes
	Role       string   `json:"role"`
	Bus        string   `json:"bus"`
	Reasons    []Reason `json:"reasons"`
	Confidence float64  `json:"confidence"` // 0..1: how often the track stayed here under resampling
	RunnerUp   string   `json:"runner_up"`  // name of the pair it would go to next, "" with a single pair
	Measured   Measured `json:"measured"`
}

// Measured holds the figures of a track that a sheet shows; see features.Profile for their definitions.
type Measured struct {
	Channels       int             `json:"channels"`
	DurationS      float64         `json:"duration_s"`
	IntegratedLUFS features.DB     `json:"integrated_lufs"`
	TruePeakDBTP   features.DB     `json:"true_peak_dbtp"`
	ActiveRMSDBFS  features.DB     `json:"active_rms_dbfs"`
	CrestDB        features.DB     `json:"crest_db"`
	CentroidHz     float64         `json:"centroid_hz"`
	OnsetRateHz    float64         `json:"onset_rate_hz"`
	AttackS        float64         `json:"attack_s"`
	DecayS         float64         `json:"decay_s"`
	Tonality       float64         `json:"tonality"`
	ActiveShare    float64         `json:"active_share"`
	OctaveDB       features.Bands  `json:"octave_db"`
	RegisterShare  features.Shares `json:"register_share"`
}

func measured(p *features.Profile) Measured {
	level := func(v features.DB) features.DB { return features.DB(round(float64(v), 2)) }
	m := Measured{
		Channels: p.Channels, DurationS: round(p.DurationS, 3), IntegratedLUFS: level(p.IntegratedLUFS), TruePeakDBTP: level(p.TruePeakDBTP),
		ActiveRMSDBFS: level(p.ActiveRMSDBFS), CrestDB: level(p.CrestDB), CentroidHz: round(p.CentroidHz, 1),
		OnsetRateHz: round(p.OnsetRateHz, 2), AttackS: round(p.AttackS, 4), DecayS: round(p.DecayS, 3), Tonality: round(p.Tonality, 3),
		ActiveShare: round(p.ActiveShare, 3),
	}
	for b, v := range p.OctaveDB {
		m.OctaveDB[b] = level(v)
	}
	for r, v := range p.RegisterShare {
		m.RegisterShare[r] = round(v, 4)
	}
	return m
}

// Reason is one measured fact that put a track where it is.
type Reason struct {
	Text    string  `json:"text"`
	Measure string  `json:"measure"`
	Value   float64 `json:"value"`
	Unit    string  `json:"unit"`
}

// SetAside is a track that is on no pair, and why.
type SetAside struct {
	File   string `json:"file"`
	Reason string `json:"reason"`
}
