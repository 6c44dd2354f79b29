package rig

import (
	"bytes"
	"errors"
	"fmt"
	"io"
	"os"
	"strings"

	"github.com/pelletier/go-toml/v2"
)

// maxRigBytes bounds what is read as a rig; a large one has a few kilobytes.
const maxRigBytes = 1 << 20

// assumedMaxInputDBu is taken where a rig does not state the maximum input level: what most makers of balanced line
// inputs promise at least (common practice, no source).
const assumedMaxInputDBu = 24

// file is the rig as it stands in TOML; nil means that a value is not stated.
type file struct {
	Name      *string         `toml:"name"`
	Pan       *string         `toml:"pan"`
	Interface []fileInterface `toml:"interface"`
	Summing   *fileSumming    `toml:"summing"`
	Alignment *fileAlignment  `toml:"alignment"`
	Return    *fileReturn     `toml:"return"`
	Cables    *fileCables     `toml:"cables"`
}

type fileInterface struct {
	Name              *string  `toml:"name"`
	LineOutputs       *int     `toml:"line_outputs"`
	MonitorPair       []int    `toml:"monitor_pair"`
	ReservedOutputs   []int    `toml:"reserved_outputs"`
	Inputs            *int     `toml:"inputs"`
	Connector         *string  `toml:"connector"`
	InputConnector    *string  `toml:"input_connector"`
	FullScaleDBu      *float64 `toml:"full_scale_dbu"`
	FirstSummingInput *int     `toml:"first_summing_input"`
}

type fileSumming struct {
	Name            *string  `toml:"name"`
	Inputs          *int     `toml:"inputs"`
	Connector       *string  `toml:"connector"`
	OutputConnector *string  `toml:"output_connector"`
	MaxInputDBu     *float64 `toml:"max_input_dbu"`
	OperatingDBu    *float64 `toml:"operating_dbu"`
	MonoSwitches    []int    `toml:"mono_switches"`
}

type fileAlignment struct {
	Preset *string  `toml:"preset"`
	DBFS   *float64 `toml:"dbfs"`
	DBu    *float64 `toml:"dbu"`
	VU     *float64 `toml:"vu"`
}

type fileReturn struct {
	Interface  *string `toml:"interface"`
	Inputs     []int   `toml:"inputs"`
	PrintTrack *string `toml:"print_track"`
}

type fileCables struct {
	Looms *int `toml:"looms"`
	Leads *int `toml:"leads"`
}

// Load reads a rig from a TOML file. Unknown keys are errors that name the line and the nearest known key; every
// contradiction gets one line. All errors name the file.
func Load(path string) (*Rig, error) {
	f, err := os.Open(path)
	if err != nil {
		return nil, err
	}
	defer f.Close()
	r, err := Read(f)
	if err != nil {
		return nil, fmt.Errorf("%s: %w", path, err)
	}
	return r, nil
}

// Read reads a rig from TOML as Load does.
func Read(in io.Reader) (*Rig, error) {
	data, err := io.ReadAll(io.LimitReader(in, maxRigBytes+1))
	if err != nil {
		return nil, err
	}
	if len(data) > maxRigBytes {
		return nil, fmt.Errorf("more than %d kB are no rig", maxRigBytes>>10)
	}
	data = bytes.TrimPrefix(data, []byte("\xEF\xBB\xBF")) // some editors put it in front
	var raw file
	if err := toml.NewDecoder(bytes.NewReader(data)).DisallowUnknownFields().Decode(&raw); err != nil {
		return nil, explain(err)
	}
	r, faults := raw.rig()
	if err := r.validate(faults); err != nil {
		return nil, err
	}
	return r, nil
}

// explain turns the decoder's errors into lines that say where and what to write instead.
func explain(err error) error {
	var strict *toml.StrictMissingError
	if errors.As(err, &strict) {
		var f Faults
		for i := range strict.Errors {
			row, _ := strict.Errors[i].Position()
			f = append(f, unknownKey(row, strict.Errors[i].Key()))
		}
		return f
	}
	var decode *toml.DecodeError
	if errors.As(err, &decode) {
		row, column := decode.Position()
		return Faults{fmt.Sprintf("line %d, column %d: %s", row, column, strings.TrimPrefix(decode.Error(), "toml: "))}
	}
	return err
}
