package rig

import (
	"fmt"
	"io"
	"strconv"
	"strings"
	"text/template"
)

// Write writes the rig as a TOML file with comments, which Read reads back to the same rig. A rig that contradicts
// itself is not written; the error is that of Validate. What was assumed stands in a comment at the top.
func Write(w io.Writer, r *Rig) error {
	if err := r.Validate(); err != nil {
		return err
	}
	return fileTemplate.Execute(w, r)
}

// tomlFloat writes a float so that TOML reads it as one.
func tomlFloat(v float64) string {
	s := strconv.FormatFloat(v, 'f', -1, 64)
	if !strings.Contains(s, ".") {
		s += ".0"
	}
	return s
}

func tomlList(v any) string {
	return strings.ReplaceAll(fmt.Sprintf("%d", v), " ", ", ")
}

// fileTemplate quotes with strconv.Quote: what Validate lets through as a name has no characters that Go and TOML
// would quote differently.
var fileTemplate = template.Must(template.New("rig").Funcs(template.FuncMap{
	"q": strconv.Quote, "f": tomlFloat, "list": tomlList, "presets": presetNames, "preset": func() string { return Presets[0].Preset },
}).Parse(`# A rig: the way of a mix out of the computer and back. Outputs and inputs are counted from 1.
{{- range .Assumed}}
# Taken for granted: {{.}}
{{- end}}
name = {{q .Name}}
pan = {{q .Pan}}                      # level of a mono track in the centre on each side: "-3 dB", "-4.5 dB", "-6 dB" or "0 dB"
{{range .Interfaces}}
[[interface]]                      # one table for each interface, in the order in which their outputs are used up
name = {{q .Name}}
line_outputs = {{.LineOutputs}}
{{- if .HasMonitors}}
monitor_pair = {{list .MonitorPair}}              # the outputs that feed the speakers; without this line: none
{{- else}}
# monitor_pair = [1, 2]            # the outputs that feed the speakers; without this line: none
{{- end}}
{{- if .ReservedOutputs}}
reserved_outputs = {{list .ReservedOutputs}}          # outputs in use for something else: headphones, inserts
{{- else}}
# reserved_outputs = [7, 8]        # outputs in use for something else: headphones, inserts
{{- end}}
inputs = {{.Inputs}}
connector = {{q .Connector}}                # of the line outputs: "dsub" (25-way D-type), "trs" or "xlr"
input_connector = {{q .InputConnector}}
full_scale_dbu = {{f .FullScaleDBu}}              # analogue level of a sine at 0 dBFS; the maker's manual states it
{{- if .FirstSummingInput}}
first_summing_input = {{.FirstSummingInput}}            # where its first free pair is plugged
{{- else}}
# first_summing_input = 1          # where its first free pair is plugged; without this line: in order
{{- end}}
{{end}}
[summing]                          # the summing unit
name = {{q .Summing.Name}}
inputs = {{.Summing.Inputs}}
connector = {{q .Summing.Connector}}
output_connector = {{q .Summing.OutputConnector}}
max_input_dbu = {{f .Summing.MaxInputDBu}}               # the level its inputs take before they clip
operating_dbu = {{f .Summing.OperatingDBu}}                # the level it is made to work at
{{- if .Summing.MonoSwitches}}
mono_switches = {{list .Summing.MonoSwitches}}             # inputs that have a switch to centre them
{{- else}}
# mono_switches = [7, 8]           # inputs that have a switch to centre them
{{- end}}

[alignment]                        # a sine at dbfs leaves the interface at dbu, and the meter reads vu
{{- if .Alignment.Preset}}
preset = {{q .Alignment.Preset}}
{{- else}}
# preset = {{q preset}}     # in the place of the three below; known are {{presets}}
{{- end}}
dbfs = {{f .Alignment.DBFS}}
dbu = {{f .Alignment.DBu}}
vu = {{f .Alignment.VU}}
{{if .Return.Stated}}
[return]                           # where the summed signal comes back
interface = {{q .Return.Interface}}
inputs = {{list .Return.Inputs}}
print_track = {{q .Return.PrintTrack}}
{{else}}
# [return]                         # where the summed signal comes back
# interface = {{q (index .Interfaces 0).Name}}
# inputs = [1, 2]
# print_track = "Print"
{{end}}
{{- if or (ge .Cables.Looms 0) (ge .Cables.Leads 0)}}
[cables]                           # what is in the cupboard
{{- if ge .Cables.Looms 0}}
looms = {{.Cables.Looms}}                          # eight-way looms
{{- else}}
# looms = 2                        # eight-way looms
{{- end}}
{{- if ge .Cables.Leads 0}}
leads = {{.Cables.Leads}}                          # single balanced leads
{{- else}}
# leads = 4                        # single balanced leads
{{- end}}
{{else}}
# [cables]                         # what is in the cupboard; the patch says what is missing
# looms = 2                        # eight-way looms
# leads = 4                        # single balanced leads
{{end}}`))
