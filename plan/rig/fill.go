package rig

import (
	"fmt"
	"math"
	"strings"
)

// rig fills in what the file leaves open. What cannot even be filled in comes back as faults.
func (f *file) rig() (*Rig, Faults) {
	var faults Faults
	r := &Rig{Name: or(f.Name, "rig"), Pan: spaced(or(f.Pan, PanLaws[0])), Cables: Cables{Looms: -1, Leads: -1}}
	stated := math.NaN() // full scale of the first interface that states one
	for n, i := range f.Interface {
		box, more := i.fill(n)
		faults = append(faults, more...)
		if i.FullScaleDBu != nil && math.IsNaN(stated) {
			stated = *i.FullScaleDBu
		}
		r.Interfaces = append(r.Interfaces, box)
	}
	faults = append(faults, r.align(f.Alignment, stated)...)
	for n := range r.Interfaces {
		if f.Interface[n].FullScaleDBu == nil {
			r.Interfaces[n].FullScaleDBu = r.Alignment.FullScaleDBu()
			r.assume("%s: full scale at %s dBu, from %s; look in its manual", r.Interfaces[n].Name, Signed(r.Interfaces[n].FullScaleDBu), r.Alignment)
		}
	}
	if f.Summing == nil {
		faults = append(faults, "there is no [summing] table; the summing unit caps the pairs")
	} else {
		r.sum(f.Summing)
	}
	if f.Return != nil {
		faults = append(faults, r.comeBack(f.Return)...)
	}
	if f.Cables != nil {
		if f.Cables.Looms != nil {
			r.Cables.Looms = *f.Cables.Looms
			faults.add(r.Cables.Looms < 0, "[cables] looms = %d: want 0 or more", r.Cables.Looms)
		}
		if f.Cables.Leads != nil {
			r.Cables.Leads = *f.Cables.Leads
			faults.add(r.Cables.Leads < 0, "[cables] leads = %d: want 0 or more", r.Cables.Leads)
		}
	}
	return r, faults
}

func (i *fileInterface) fill(n int) (Interface, Faults) {
	var faults Faults
	box := Interface{
		Name: or(i.Name, fmt.Sprintf("Interface %d", n+1)), LineOutputs: or(i.LineOutputs, 0), Inputs: or(i.Inputs, 0),
		ReservedOutputs: i.ReservedOutputs, Connector: strings.ToLower(or(i.Connector, TRS)), FirstSummingInput: or(i.FirstSummingInput, 0),
	}
	box.InputConnector = strings.ToLower(or(i.InputConnector, box.Connector))
	if i.FullScaleDBu != nil {
		box.FullScaleDBu = *i.FullScaleDBu
	}
	if i.FirstSummingInput != nil {
		faults.add(box.FirstSummingInput < 1, "%s: first_summing_input = %d: inputs are counted from 1", box.Name, box.FirstSummingInput)
	}
	if i.MonitorPair != nil {
		box.MonitorPair = two(i.MonitorPair, "monitor_pair", box.Name, &faults)
		faults.add(len(i.MonitorPair) == 2 && !box.HasMonitors(), "%s: monitor_pair = [0, 0]: outputs are counted from 1; leave the line out for none", box.Name)
	}
	return box, faults
}

func (r *Rig) sum(s *fileSumming) {
	r.Summing = Summing{
		Name: or(s.Name, "Summing unit"), Inputs: or(s.Inputs, 0), MonoSwitches: s.MonoSwitches,
		Connector: strings.ToLower(or(s.Connector, DSub)), OutputConnector: strings.ToLower(or(s.OutputConnector, XLR)),
		MaxInputDBu: or(s.MaxInputDBu, assumedMaxInputDBu), OperatingDBu: or(s.OperatingDBu, r.Alignment.DBu),
	}
	if s.MaxInputDBu == nil {
		r.assume("%s: inputs good for %s dBu; look in its manual", r.Summing.Name, Signed(assumedMaxInputDBu))
	}
	if s.OperatingDBu == nil {
		r.assume("%s: operating level %s dBu, as the alignment has it", r.Summing.Name, Signed(r.Summing.OperatingDBu))
	}
}

func (r *Rig) comeBack(b *fileReturn) Faults {
	var faults Faults
	r.Return.PrintTrack = or(b.PrintTrack, "Print")
	switch {
	case b.Interface != nil:
		r.Return.Interface = *b.Interface
	case len(r.Interfaces) == 1:
		r.Return.Interface = r.Interfaces[0].Name
	default:
		faults.add(true, "[return] does not say to which interface it comes back")
	}
	if b.Inputs == nil {
		r.Return.Inputs = [2]int{1, 2} // so that one slip makes one line
		faults.add(true, "[return] does not say which two inputs it comes back on")
	} else {
		r.Return.Inputs = two(b.Inputs, "inputs", "[return]", &faults)
		if len(b.Inputs) != 2 {
			r.Return.Inputs = [2]int{1, 2}
		}
	}
	return faults
}

// align fills in the alignment: a preset, stated numbers, and what follows from the stated full scale.
func (r *Rig) align(a *fileAlignment, fullScale float64) Faults {
	var faults Faults
	if a == nil {
		a = &fileAlignment{}
	}
	r.Alignment = DefaultAlignment
	dbfs, dbu := a.DBFS, a.DBu
	if a.Preset != nil {
		p, ok := preset(*a.Preset)
		if !ok {
			return append(faults, fmt.Sprintf("[alignment] preset %q is not known; known are %s", *a.Preset, presetNames()))
		}
		faults.add(dbfs != nil && *dbfs != p.DBFS || dbu != nil && *dbu != p.DBu,
			"[alignment] preset %q means %s dBFS = %s dBu; leave the preset out to state other figures", p.Preset, Signed(p.DBFS), Signed(p.DBu))
		r.Alignment = p
		dbfs, dbu = &p.DBFS, &p.DBu
	}
	r.Alignment.VU = or(a.VU, 0)
	switch {
	case dbfs != nil && dbu != nil:
		r.Alignment.DBFS, r.Alignment.DBu = *dbfs, *dbu
	case dbfs != nil:
		r.Alignment.DBFS = *dbfs
		if !math.IsNaN(fullScale) {
			r.Alignment.DBu = fullScale + *dbfs
		}
	default:
		r.Alignment.DBu = or(dbu, r.Alignment.DBu)
		if !math.IsNaN(fullScale) {
			r.Alignment.DBFS = r.Alignment.DBu - fullScale
		}
	}
	if a.Preset == nil && (dbfs == nil || dbu == nil) {
		r.assume("alignment %s", r.Alignment)
	}
	return faults
}

func preset(name string) (Alignment, bool) {
	for _, p := range Presets {
		if strings.EqualFold(strings.ReplaceAll(p.Preset, " ", ""), strings.ReplaceAll(name, " ", "")) {
			return p, true
		}
	}
	return Alignment{}, false
}

func presetNames() string {
	var names []string
	for _, p := range Presets {
		names = append(names, fmt.Sprintf("%q", p.Preset))
	}
	return strings.Join(names, ", ")
}

func (r *Rig) assume(format string, args ...any) {
	r.Assumed = append(r.Assumed, fmt.Sprintf(format, args...))
}

func or[T any](p *T, otherwise T) T {
	if p == nil {
		return otherwise
	}
	return *p
}

func two(list []int, key, of string, faults *Faults) (out [2]int) {
	if len(list) != 2 {
		faults.add(true, "%s: %s has %d numbers, want two: left and right", of, key, len(list))
		return out
	}
	return [2]int{list[0], list[1]}
}

// spaced puts the blank of "-3 dB" where it was left out.
func spaced(law string) string {
	for _, known := range PanLaws {
		if strings.EqualFold(strings.ReplaceAll(known, " ", ""), strings.ReplaceAll(law, " ", "")) {
			return known
		}
	}
	return law
}
