package tones

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"
)

// Schema is the version of Plan and of the program of sounds.
const Schema = 1

// PlanFile and CautionsFile stand beside the tones.
const (
	PlanFile     = "tones.json"
	CautionsFile = "READ ME FIRST.txt"
)

// Send is one line output with what is known of it.
type Send struct {
	Output          int     `json:"output"`                     // as the interface counts it; a second interface counts on
	Side            string  `json:"side"`                       // where it should arrive: left or right
	File            string  `json:"file"`                       // of its pair; the left output is the file's first channel
	Name            string  `json:"name,omitempty"`             // of the pair on the sheet
	Interface       string  `json:"interface,omitempty"`        // where a rig says so
	InterfaceOutput int     `json:"interface_output,omitempty"` // as the box itself counts
	SummingInput    int     `json:"summing_input,omitempty"`
	MonoSwitch      bool    `json:"mono_switch,omitempty"` // the summing input can be switched to the centre
	FullScaleDBu    float64 `json:"full_scale_dbu"`
	ExpectedDB      float64 `json:"expected_db"` // return over file, by the rig: full scale going out less full scale coming back
}

// Plan is what is known of a folder of tones.
type Plan struct {
	Schema        int     `json:"schema"`
	RateHz        int     `json:"sample_rate_hz"`
	Frames        int64   `json:"frames"`
	Quick         bool    `json:"quick"`
	LevelDB       float64 `json:"level_db"`       // by how much all levels are moved
	OperatingDBFS float64 `json:"operating_dbfs"` // of the 1 kHz, before LevelDB
	Rig           string  `json:"rig,omitempty"`
	Unit          string  `json:"unit,omitempty"`   // the summing unit
	Return        string  `json:"return,omitempty"` // where it comes back
	Sends         []Send  `json:"sends"`
}

// ToneDBFS is the level of the 1 kHz in the files.
func (p *Plan) ToneDBFS() float64 { return p.OperatingDBFS + p.LevelDB }

// Program is the program of sounds of these files.
func (p *Plan) Program() *Program { return NewProgram(p.RateHz, len(p.Sends), p.Quick) }

// LoadPlan reads the plan of a folder of tones.
func LoadPlan(dir string) (*Plan, error) {
	path := filepath.Join(dir, PlanFile)
	data, err := os.ReadFile(path)
	if errors.Is(err, fs.ErrNotExist) {
		return nil, fmt.Errorf("%s holds no %s; --tones wants the folder that foldout tones wrote, with all that is in it", dir, PlanFile)
	}
	if err != nil {
		return nil, err
	}
	p := &Plan{}
	d := json.NewDecoder(bytes.NewReader(data))
	if err := d.Decode(p); err != nil {
		return nil, fmt.Errorf("%s is no plan of tones (%v); write the tones again with foldout tones", path, err)
	}
	if p.Schema != Schema {
		return nil, fmt.Errorf("%s is of version %d and this program reads %d; write the tones again with foldout tones", path, p.Schema, Schema)
	}
	if p.RateHz < 8000 || p.RateHz > 384000 || len(p.Sends) == 0 || len(p.Sends) > MaxOutputs || len(p.Sends)%2 != 0 || p.Program().Frames != p.Frames {
		return nil, fmt.Errorf("%s does not hold together: rate %d Hz, %d outputs, %d frames; write the tones again with foldout tones", path, p.RateHz, len(p.Sends), p.Frames)
	}
	return p, nil
}
