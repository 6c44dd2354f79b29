// Package rig describes the hardware a mix leaves by and comes back through: interfaces with their line outputs, the
// pair that feeds the speakers, the summing unit, the alignment between digital and analogue level, the return.
//
// In goes a short TOML file (Load) or a Rig filled in by hand; out come the stereo pairs that are really free (Pairs)
// and one clear line for every contradiction (Validate). Outputs and inputs are counted from 1 on each device. Levels
// are in dBu (0 dBu = sqrt(0.6) V rms, IEC 60268-2), digital levels in dBFS with a full-scale sine at 0 (AES17).
package rig

import "math"

// Connectors of line level, as they are spelled in a rig file.
const (
	DSub = "dsub" // 25-way D-type, eight balanced channels, AES59 analogue
	TRS  = "trs"  // 6.35 mm three-pole jack
	XLR  = "xlr"  // three-pole XLR
)

// Connectors lists the known connectors.
var Connectors = []string{DSub, TRS, XLR}

// MaxChannels bounds the inputs or outputs of one device.
const MaxChannels = 512

// Rig is one studio's way out of the computer and back.
type Rig struct {
	Name       string      `json:"name"`
	Interfaces []Interface `json:"interfaces"` // in the order in which their outputs are used up
	Summing    Summing     `json:"summing"`
	Alignment  Alignment   `json:"alignment"`
	Return     Return      `json:"return"`
	Pan        string      `json:"pan"` // pan law of mono tracks in the centre, one of PanLaws
	Cables     Cables      `json:"cables"`
	Assumed    []string    `json:"assumed"` // what the file does not state and was taken for granted, one line each
}

// Interface is one converter box.
type Interface struct {
	Name              string  `json:"name"`
	LineOutputs       int     `json:"line_outputs"`
	MonitorPair       [2]int  `json:"monitor_pair"`     // outputs that feed the speakers, 0,0 for none
	ReservedOutputs   []int   `json:"reserved_outputs"` // outputs in use for something else: headphones, inserts
	Inputs            int     `json:"inputs"`
	Connector         string  `json:"connector"`           // of the line outputs
	InputConnector    string  `json:"input_connector"`     // of the inputs
	FullScaleDBu      float64 `json:"full_scale_dbu"`      // dBu at the output for a sine at 0 dBFS
	FirstSummingInput int     `json:"first_summing_input"` // where its first free pair is plugged; 0: as it comes
}

// Summing is the summing unit.
type Summing struct {
	Name            string  `json:"name"`
	Inputs          int     `json:"inputs"`
	Connector       string  `json:"connector"`        // of the inputs
	OutputConnector string  `json:"output_connector"` // of the stereo output
	MaxInputDBu     float64 `json:"max_input_dbu"`
	OperatingDBu    float64 `json:"operating_dbu"`
	MonoSwitches    []int   `json:"mono_switches"` // inputs that have a switch to centre them
}

// Return is where the summed signal comes back. Interface "" means that it is not stated.
type Return struct {
	Interface  string `json:"interface"`
	Inputs     [2]int `json:"inputs"`
	PrintTrack string `json:"print_track"`
}

// Cables says what is in the cupboard. -1 means that it is not stated.
type Cables struct {
	Looms int `json:"looms"` // eight-way looms
	Leads int `json:"leads"` // single balanced leads
}

// Stated reports whether the rig says where the return comes back.
func (r Return) Stated() bool { return r.Interface != "" }

// HasMonitors reports whether a pair of this interface feeds the speakers.
func (i Interface) HasMonitors() bool { return i.MonitorPair != [2]int{} }

// Interface finds an interface by its name.
func (r *Rig) Interface(name string) (*Interface, bool) {
	for i := range r.Interfaces {
		if r.Interfaces[i].Name == name {
			return &r.Interfaces[i], true
		}
	}
	return nil, false
}

// PanLaws lists the known pan laws: the gain of each side when a mono track stands in the centre.
var PanLaws = []string{"-3 dB", "-4.5 dB", "-6 dB", "0 dB"}

// PanGain returns the amplitude with which a mono track in the centre reaches each side: sqrt(1/2) for the constant
// power law "-3 dB", 1/2 for the linear law "-6 dB", their geometric mean for "-4.5 dB", 1 for "0 dB". An unknown law
// reads NaN; Validate names it.
func (r *Rig) PanGain() float64 {
	switch r.Pan {
	case "-3 dB":
		return math.Sqrt(0.5)
	case "-4.5 dB":
		return math.Pow(2, -0.75)
	case "-6 dB":
		return 0.5
	case "0 dB":
		return 1
	}
	return math.NaN()
}

// Plain is the rig that is assumed where none is given: one interface with as many outputs as the pairs need and no
// monitors on them, a summing unit with as many inputs, AES59 connectors, -18 dBFS = 0 VU = +4 dBu. Pairs below 1
// count as 1.
func Plain(pairs int) *Rig {
	n := 2 * max(1, min(pairs, MaxChannels/2))
	return &Rig{
		Name: "plain rig",
		Interfaces: []Interface{{
			Name: "Interface", LineOutputs: n, Inputs: 2, Connector: DSub, InputConnector: XLR, FullScaleDBu: 22,
		}},
		Summing:   Summing{Name: "Summing unit", Inputs: n, Connector: DSub, OutputConnector: XLR, MaxInputDBu: assumedMaxInputDBu, OperatingDBu: 4},
		Alignment: DefaultAlignment,
		Return:    Return{Interface: "Interface", Inputs: [2]int{1, 2}, PrintTrack: "Print"},
		Pan:       PanLaws[0],
		Cables:    Cables{Looms: -1, Leads: -1},
		Assumed:   []string{"no rig was given: one interface, no monitors on its line outputs, 25-way D-types, the return on inputs 1/2, -18 dBFS = 0 VU = +4 dBu, summing inputs good for +24 dBu"},
	}
}
