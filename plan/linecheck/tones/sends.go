package tones

import (
	"fmt"
	"slices"
	"strings"

	"foldout/plan/patch"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// MaxOutputs is how many outputs one check takes.
const MaxOutputs = 128

// ForPairs plans tones for outputs 1/2, 3/4 and so on.
func ForPairs(pairs int) *Plan {
	p := &Plan{Schema: Schema, OperatingDBFS: rig.DefaultAlignment.DBFS}
	for n := range pairs {
		p.pair([2]int{2*n + 1, 2*n + 2}, Send{FullScaleDBu: rig.DefaultAlignment.FullScaleDBu()})
	}
	return p
}

// ForSheet plans tones for the pairs of a sheet, which lends their names to the report.
func ForSheet(s *sheet.Sheet) *Plan {
	p := &Plan{Schema: Schema, OperatingDBFS: rig.DefaultAlignment.DBFS}
	for _, pair := range s.Pairs {
		p.pair(pair.Outputs, Send{Name: pair.Name, FullScaleDBu: rig.DefaultAlignment.FullScaleDBu()})
	}
	return p
}

// ForRig plans tones for all pairs of a rig that are free for the mix, or for those that a sheet uses where one is given.
func ForRig(r *rig.Rig, s *sheet.Sheet) (*Plan, error) {
	pairs, _, err := r.Pairs()
	if err != nil {
		return nil, err
	}
	var names []string
	if s != nil {
		made, err := patch.Make(s, r)
		if err != nil {
			return nil, err
		}
		pairs = pairs[:0:0]
		for _, l := range made.Lanes {
			pairs = append(pairs, rig.Pair{Interface: l.Interface, Outputs: [2]int{l.Lines[0].Output, l.Lines[1].Output}, SummingInputs: [2]int{l.Lines[0].SummingInput, l.Lines[1].SummingInput}})
			names = append(names, l.Name)
		}
	}
	p := &Plan{Schema: Schema, OperatingDBFS: r.Alignment.DBFS, Rig: r.Name, Unit: r.Summing.Name}
	back, stated := r.Interface(r.Return.Interface)
	if stated {
		p.Return = fmt.Sprintf("%s inputs %d/%d", r.Return.Interface, r.Return.Inputs[0], r.Return.Inputs[1])
	}
	for n, pair := range pairs {
		box, _ := r.Interface(pair.Interface)
		send := Send{Interface: pair.Interface, FullScaleDBu: box.FullScaleDBu}
		if stated {
			send.ExpectedDB = box.FullScaleDBu - back.FullScaleDBu
		}
		if n < len(names) {
			send.Name = names[n]
		}
		base := 0
		for _, i := range r.Interfaces {
			if i.Name == pair.Interface {
				break
			}
			base += i.LineOutputs
		}
		p.pair([2]int{base + pair.Outputs[0], base + pair.Outputs[1]}, send)
		for side := range 2 {
			last := &p.Sends[len(p.Sends)-2+side]
			last.InterfaceOutput = pair.Outputs[side]
			last.SummingInput = pair.SummingInputs[side]
			last.MonoSwitch = slices.Contains(r.Summing.MonoSwitches, last.SummingInput)
		}
	}
	return p, nil
}

func (p *Plan) pair(outputs [2]int, s Send) {
	s.File = fmt.Sprintf("%02d-%02d.wav", outputs[0], outputs[1])
	for side, name := range []string{"left", "right"} {
		s.Output, s.Side = outputs[side], name
		p.Sends = append(p.Sends, s)
	}
}

// Files are the names of the files, in order.
func (p *Plan) Files() []string {
	var names []string
	for n := 0; n < len(p.Sends); n += 2 {
		names = append(names, p.Sends[n].File)
	}
	return names
}

// Label is what an output is called in a sentence: "Output 6", with the pair's name and the box where they are known.
func (s Send) Label() string {
	var more []string
	if s.Interface != "" && s.InterfaceOutput != s.Output {
		more = append(more, fmt.Sprintf("%s output %d", s.Interface, s.InterfaceOutput))
	}
	if s.Name != "" {
		more = append(more, s.Name+" "+s.Side)
	}
	if len(more) == 0 {
		return fmt.Sprintf("Output %d", s.Output)
	}
	return fmt.Sprintf("Output %d (%s)", s.Output, strings.Join(more, ", "))
}
