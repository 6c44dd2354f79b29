// Package sheet is the saved result: which track leaves through which pair, on which bus, and why; read, written, and
// read from tables made by hand. It holds the other documents too: the judgement of a grouping (Judgement) and what more
// pairs buy (Sweep). All that follows from a fold - levels, patch, stems, report - needs this package and no other of
// plan. Levels are in dB with their reference in the name; pairs and outputs that people see count from 1.
package sheet

import (
	"fmt"
	"slices"

	"foldout/features"
)

// MaxPairs is the largest number of pairs that makes sense; no studio has more.
const MaxPairs = 128

// SchemaVersion is the version of the JSON layout of a Sheet. Version 2 has reasons in parts and the sides of split stereo
// sources; version 3 has relations between tracks, and what name and ear say of each. Older sheets are still read.
const SchemaVersion = 3

// Sheet is the saved result: every track's bus and pair, the reasons, and the figures of merit.
type Sheet struct {
	Schema    int        `json:"schema"`
	Title     string     `json:"title"`  // name of the session's folder
	Folder    string     `json:"folder"` // absolute path of the measured folder
	Settings  Settings   `json:"settings"`
	Pairs     []Pair     `json:"pairs"`
	Relations []Relation `json:"relations"` // between the tracks, whatever pair they are on
	SetAside  []SetAside `json:"set_aside"`
	Questions []Question `json:"questions"`
	Remarks   []Remark   `json:"remarks,omitempty"` // on a sheet made by hand: what speaks against a place
	Figures   Figures    `json:"figures"`
	Warnings  []string   `json:"warnings"`
	Notes     []Note     `json:"notes,omitempty"` // of the engineer, for the recall sheet; the oldest first
}

// Note is something that the engineer wants to find again.
type Note struct {
	Date string `json:"date"` // 2006-01-02
	Text string `json:"text"`
}

// PairsUsed counts the pairs that hold tracks.
func (s *Sheet) PairsUsed() int {
	n := 0
	for _, p := range s.Pairs {
		if len(p.Tracks) > 0 {
			n++
		}
	}
	return n
}

// OutputsOf names the line outputs of pair n, from 0: "outputs 1/2", and where the pairs leave through several interfaces
// "Rack A 1/2".
func (s *Sheet) OutputsOf(n int) string {
	p := &s.Pairs[n]
	for _, o := range s.Pairs {
		if o.Device != p.Device && p.Device != "" {
			return fmt.Sprintf("%s %d/%d", p.Device, p.Outputs[0], p.Outputs[1])
		}
	}
	return fmt.Sprintf("outputs %d/%d", p.Outputs[0], p.Outputs[1])
}

// WithoutRig is a copy whose pairs have the outputs that they have where no rig says otherwise.
func (s *Sheet) WithoutRig() *Sheet {
	c := *s
	c.Pairs = slices.Clone(s.Pairs)
	for n := range c.Pairs {
		c.Pairs[n].Outputs, c.Pairs[n].Device = [2]int{2*n + 1, 2*n + 2}, ""
	}
	return &c
}

// ByHand tells whether somebody had a hand in the grouping: adopted or mended a table, moved tracks, tied or pinned them.
func (s *Settings) ByHand() bool {
	return s.Adopted != "" || len(s.Tie)+len(s.Apart)+len(s.Pin) > 0
}

// Settings are the choices that make a sheet repeatable.
type Settings struct {
	Pairs    int      `json:"pairs"`
	Seed     uint64   `json:"seed"`
	EarsOnly bool     `json:"ears_only"`
	Tie      []string `json:"tie,omitempty"`
	Apart    []string `json:"apart,omitempty"`
	Pin      []string `json:"pin,omitempty"`
	Exclude  []string `json:"exclude,omitempty"` // patterns of files that are no tracks
	Include  []string `json:"include,omitempty"` // patterns of files that are tracks whatever they sound like
	Grow     string   `json:"grow,omitempty"`    // name of the sheet whose pairs were split
	Like     string   `json:"like,omitempty"`    // name of the sheet whose pairs were kept
	Adopted  string   `json:"adopted,omitempty"` // name of the table made by hand, or "workbench"
	Offsets  []Offset `json:"offsets,omitempty"` // where files begin that start late without a time stamp
	UseAll   bool     `json:"use_all,omitempty"` // kinds of track were cut rather than leave a pair free
	Version  string   `json:"version"`
	Habits   *Habits  `json:"habits,omitempty"` // whose habits were used; nil for the trade's
}

// Pair is one stereo pair of line outputs and the tracks on it. Tracks may be empty: a free pair.
type Pair struct {
	Name    string      `json:"name"`
	Outputs [2]int      `json:"outputs"`             // line outputs counted from 1; pair n has 2n-1 and 2n unless a rig says otherwise
	Device  string      `json:"interface,omitempty"` // that has them, "" where no rig says
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
	Named      string   `json:"named"`      // the role that the name says, "" if it says none
	Heard      []Heard  `json:"heard"`      // what the ears alone say: all roles, the most probable first; they sum to 1
	RunnerUp   string   `json:"runner_up"`  // name of the pair it would go to next, "" where nobody would put it on another
	Half
	Place
	Measured Measured `json:"measured"`
}

// Place is how a track reaches its pair.
type Place struct {
	Pan    *float64 `json:"pan,omitempty"`     // of a mono track, -1 left to 1 right; nil: the centre, or its side if it is a half
	GainDB float64  `json:"gain_db,omitempty"` // 0: as it is
}

// Heard is how much a track sounds like a role of package trade.
type Heard struct {
	Role        string  `json:"role"`
	Probability float64 `json:"probability"` // 0..1
}

// Relation is what two tracks are to one another. A and B are files as in Placement; for processed, sum and return, A is
// made from B, and a sum states one relation for each of its members.
//
// The kinds: copy (one performance through a linear path, or without a known direction), processed (one performance
// through dynamics, distortion or a moving delay), sides (left and right files of one stereo sound), sum (a bus or mix
// of several), return (an effect), double (the same notes performed again), bleed (one sound in two microphones).
type Relation struct {
	A         string  `json:"a"`
	B         string  `json:"b"`
	Kind      string  `json:"kind"`
	Binding   bool    `json:"binding"`   // the two must share a pair; never so for double and bleed
	Certainty float64 `json:"certainty"` // 0..1: the probability that it is so
	Share     float64 `json:"share"`     // 0..1: of A's energy that B explains
}

// Measured holds the figures of a track that a sheet shows; see features.Profile for their definitions.
type Measured struct {
	Channels       int               `json:"channels"`
	DurationS      float64           `json:"duration_s"`
	IntegratedLUFS features.DB       `json:"integrated_lufs"`
	TruePeakDBTP   features.DB       `json:"true_peak_dbtp"`
	ActiveRMSDBFS  features.DB       `json:"active_rms_dbfs"`
	CrestDB        features.DB       `json:"crest_db"`
	CentroidHz     features.Positive `json:"centroid_hz"`
	OnsetRateHz    float64           `json:"onset_rate_hz"`
	AttackS        features.Positive `json:"attack_s"`
	DecayS         features.Positive `json:"decay_s"`
	Tonality       float64           `json:"tonality"`
	ActiveShare    float64           `json:"active_share"`
	OctaveDB       features.Bands    `json:"octave_db"`
	RegisterShare  features.Shares   `json:"register_share"`
}

// SetAside is a file that is on no pair, and why.
type SetAside struct {
	File      string  `json:"file"`
	Kind      string  `json:"kind"`      // silent, mix, print, stem, click, talkback, reference, tone, noise, duplicate or excluded
	Certainty float64 `json:"certainty"` // 0..1
	Reason    string  `json:"reason"`
	Half
}

// Question is a track that may be none: it stays on its pair until someone says otherwise.
type Question struct {
	File      string  `json:"file"`
	Kind      string  `json:"kind"`      // what it may be, as in SetAside
	Certainty float64 `json:"certainty"` // 0..1
	Text      string  `json:"text"`
}

// Remark is what the program says of a track that somebody else placed.
type Remark struct {
	File string `json:"file"`
	Text string `json:"text"`
}

// Half says that a mono file is one side of a stereo source, by its name.
type Half struct {
	Side  string `json:"side,omitempty"`       // "L", "R", or "" for a track that is no half
	Other string `json:"other_side,omitempty"` // file of the other half, "" if it is not there
}
