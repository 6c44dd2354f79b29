package patch

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/plan/rig"
)

// check looks for what must not be plugged: monitors in use, the return on a pair, an output or input twice or beyond
// its device.
func (p *Patch) check(r *rig.Rig) (faults rig.Faults) {
	fault := func(format string, args ...any) { faults = append(faults, fmt.Sprintf(format, args...)) }
	type socket struct {
		device string
		n      int
	}
	outputs, inputs := map[socket]string{}, map[int]string{}
	for _, l := range p.Lanes {
		box, ok := r.Interface(l.Interface)
		if !ok {
			fault("pair %d (%s) leaves by %q, which is not in this rig", l.Number, l.Name, l.Interface)
			continue
		}
		for _, line := range l.Lines {
			who := fmt.Sprintf("pair %d %s", l.Number, line.Side)
			if box.HasMonitors() && slices.Contains(box.MonitorPair[:], line.Output) {
				fault("%s is on output %d of %s, which feeds the speakers", who, line.Output, box.Name)
			}
			if line.Output < 1 || line.Output > box.LineOutputs {
				fault("%s is on output %d, but %s has outputs 1 to %d", who, line.Output, box.Name, box.LineOutputs)
			}
			at := socket{box.Name, line.Output}
			if first, ok := outputs[at]; ok {
				fault("output %d of %s carries %s and %s", line.Output, box.Name, first, who)
			}
			outputs[at] = who
			if line.SummingInput < 1 || line.SummingInput > r.Summing.Inputs {
				fault("%s goes to input %d, but %s has inputs 1 to %d", who, line.SummingInput, r.Summing.Name, r.Summing.Inputs)
			}
			if first, ok := inputs[line.SummingInput]; ok {
				fault("input %d of %s is fed by %s and %s", line.SummingInput, r.Summing.Name, first, who)
			}
			inputs[line.SummingInput] = who
		}
		for _, t := range l.Tracks {
			if p.Return.Interface != "" && strings.EqualFold(strings.TrimSpace(trackName(t)), strings.TrimSpace(p.Return.PrintTrack)) {
				fault("%s is the print track and sits on pair %d (%s): the return would feed its own pair and howl; take it off the sheet, or name another print_track in the rig", t, l.Number, l.Name)
			}
		}
	}
	return faults
}

// warn names the traps of this patch.
func (p *Patch) warn(r *rig.Rig) (notes []string) {
	note := func(format string, args ...any) { notes = append(notes, fmt.Sprintf(format, args...)) }
	if !r.Return.Stated() {
		note("the rig does not state where the return comes back; add a [return] table")
	}
	var full []rig.Interface
	var mono []string
	dsub, plain := false, false
	for _, l := range p.Lanes {
		box, _ := r.Interface(l.Interface)
		if !slices.ContainsFunc(full, func(i rig.Interface) bool { return i.Name == box.Name }) {
			full = append(full, *box)
		}
		for _, line := range l.Lines {
			dsub = dsub || line.From.Connector == rig.DSub || line.To.Connector == rig.DSub
			plain = plain || line.From.Connector != rig.DSub || line.To.Connector != rig.DSub
			if slices.Contains(r.Summing.MonoSwitches, line.SummingInput) && !l.Free {
				mono = append(mono, fmt.Sprint(line.SummingInput))
			}
		}
	}
	if len(mono) > 0 {
		note("%s: leave the mono switches of inputs %s out, their pairs are stereo", r.Summing.Name, strings.Join(mono, ", "))
	}
	for _, i := range full {
		if d := i.FullScaleDBu - full[0].FullScaleDBu; math.Abs(d) > 0.05 {
			note("%s puts out %+.1f dB against %s for the same digital level: trim its pairs by %+.1f dB, or the balance changes", i.Name, d, full[0].Name, -d)
		}
		if d := i.FullScaleDBu - r.Summing.MaxInputDBu; d > 0.05 {
			note("%s reaches %+.1f dBu at full scale, %s takes %+.1f dBu: keep peaks below %.1f dBFS", i.Name, i.FullScaleDBu, r.Summing.Name, r.Summing.MaxInputDBu, -d)
		}
	}
	notes = append(notes, p.throughLooms(r)...)
	if dsub {
		note("25-way D-types here are wired for analogue as AES59 has it; looms wired the other way in the field, for digital, fit the socket and put signal on the wrong pins. Look at the print on the loom; check 4-40 UNC against M3 screws")
	}
	if plain {
		note("polarity: XLR pin 2 hot, jack tip hot; some units made before 1992 have pin 3 hot, and one of them in the chain inverts what passes through it")
	}
	return notes
}

// throughLooms warns where a loom that runs straight would carry speakers or reserved outputs into the summing unit.
func (p *Patch) throughLooms(r *rig.Rig) (notes []string) {
	for _, i := range r.Interfaces {
		for _, o := range i.ReservedOutputs {
			if p.loomed(i.Name, o) {
				notes = append(notes, fmt.Sprintf("output %d of %s is reserved but shares a D-type with the mix: its channel of the loom must not reach %s", o, i.Name, r.Summing.Name))
			}
		}
		if i.HasMonitors() && (p.loomed(i.Name, i.MonitorPair[0]) || p.loomed(i.Name, i.MonitorPair[1])) {
			notes = append(notes, fmt.Sprintf("the speakers' outputs %d/%d of %s share a D-type with the mix: a plain loom would feed them to %s, and once you listen to the return, it feeds itself. Have these two channels brought out as tails for the speakers",
				i.MonitorPair[0], i.MonitorPair[1], i.Name, r.Summing.Name))
		}
	}
	return notes
}

// loomed reports whether an output sits on a D-type that also carries a pair of the mix.
func (p *Patch) loomed(box string, output int) bool {
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			if l.Interface == box && line.From.Connector == rig.DSub && line.From.Plug == end(rig.DSub, output).Plug {
				return true
			}
		}
	}
	return false
}
