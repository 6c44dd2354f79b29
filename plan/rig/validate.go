package rig

import (
	"fmt"
	"math"
	"slices"
	"strings"
	"unicode"
	"unicode/utf8"
)

// Faults are the contradictions of a rig, one clear line each.
type Faults []string

func (f Faults) Error() string {
	if len(f) == 1 {
		return f[0]
	}
	return fmt.Sprintf("%d things are wrong:\n  %s", len(f), strings.Join(f, "\n  "))
}

func (f *Faults) add(wrong bool, format string, args ...any) {
	if wrong {
		*f = append(*f, fmt.Sprintf(format, args...))
	}
}

// Bounds of what is taken for a level: beyond them it is a slip of the pen (common practice, no source).
const (
	leastDBu, mostDBu = -40, 40
	toleranceDB       = 0.5 // makers round their full-scale figures
	longestName       = 120
)

// Validate checks the rig against itself. All contradictions come back together, as Faults.
func (r *Rig) Validate() error { return r.validate(nil) }

func (r *Rig) validate(f Faults) error {
	f.add(len(r.Interfaces) == 0, "there is no [[interface]]; the mix has no way out")
	f.add(!slices.Contains(PanLaws, r.Pan), "pan = %q is not a pan law; known are %s", r.Pan, quoted(PanLaws))
	f.add(badName(r.Name), "name of the rig: want 1 to %d printable characters", longestName)
	seen := map[string]bool{}
	monitors := ""
	for n := range r.Interfaces {
		i := &r.Interfaces[n]
		key := strings.ToLower(strings.TrimSpace(i.Name))
		f.add(seen[key], "two interfaces are called %q; the patch could not tell them apart", i.Name)
		seen[key] = true
		i.check(&f)
		f.add(i.HasMonitors() && monitors != "", "both %s and %s state a monitor pair; the speakers hang on one", monitors, i.Name)
		if i.HasMonitors() {
			monitors = i.Name
		}
	}
	r.checkSumming(&f)
	r.checkAlignment(&f)
	r.checkReturn(&f)
	if len(f) == 0 {
		r.checkPlugs(&f)
	}
	if len(f) == 0 {
		return nil
	}
	return f
}

func (i *Interface) check(f *Faults) {
	f.add(badName(i.Name), "name of an interface: want 1 to %d printable characters", longestName)
	f.add(i.LineOutputs == 0, "%s has no line outputs (line_outputs)", i.Name)
	f.add(i.LineOutputs < 0, "%s: line_outputs = %d: want 1 or more", i.Name, i.LineOutputs)
	f.add(i.LineOutputs > MaxChannels, "%s: line_outputs = %d: more than %d on one interface", i.Name, i.LineOutputs, MaxChannels)
	f.add(i.Inputs < 0, "%s: inputs = %d: want 0 or more", i.Name, i.Inputs)
	f.add(i.Inputs > MaxChannels, "%s: inputs = %d: more than %d on one interface", i.Name, i.Inputs, MaxChannels)
	f.add(!slices.Contains(Connectors, i.Connector), "%s: connector %q is not known; known are %s", i.Name, i.Connector, quoted(Connectors))
	f.add(i.InputConnector != i.Connector && !slices.Contains(Connectors, i.InputConnector), "%s: input_connector %q is not known; known are %s", i.Name, i.InputConnector, quoted(Connectors))
	f.add(notLevel(i.FullScaleDBu), "%s: full_scale_dbu = %v: want a level between %d and %+d dBu", i.Name, i.FullScaleDBu, leastDBu, mostDBu)
	if m := i.MonitorPair; i.HasMonitors() {
		f.add(m[0] == m[1], "%s: the monitor pair names output %d twice; speakers need two outputs", i.Name, m[0])
		f.add(min(m[0], m[1]) < 1, "%s: monitor pair %d/%d: outputs are counted from 1", i.Name, m[0], m[1])
		f.add(max(m[0], m[1]) > i.LineOutputs && i.LineOutputs > 0, "%s: monitor pair %d/%d lies beyond its %d line outputs", i.Name, m[0], m[1], i.LineOutputs)
	}
	for n, o := range i.ReservedOutputs {
		f.add(o < 1 || o > i.LineOutputs, "%s: reserved output %d is none of its %d line outputs", i.Name, o, i.LineOutputs)
		f.add(slices.Contains(i.ReservedOutputs[:n], o), "%s: output %d is reserved twice", i.Name, o)
		f.add(i.HasMonitors() && (o == i.MonitorPair[0] || o == i.MonitorPair[1]), "%s: output %d is reserved and also feeds the speakers", i.Name, o)
	}
}

func (r *Rig) checkSumming(f *Faults) {
	s := &r.Summing
	if s.Name == "" && s.Inputs == 0 && s.Connector == "" {
		f.add(len(*f) == 0, "there is no summing unit")
		return
	}
	f.add(badName(s.Name), "name of the summing unit: want 1 to %d printable characters", longestName)
	f.add(s.Inputs == 0, "%s has no inputs", s.Name)
	f.add(s.Inputs < 0, "%s: inputs = %d: want 2 or more", s.Name, s.Inputs)
	f.add(s.Inputs > MaxChannels, "%s: inputs = %d: more than %d on one unit", s.Name, s.Inputs, MaxChannels)
	f.add(s.Inputs > 0 && s.Inputs%2 == 1, "%s: %d inputs are an odd number; stereo pairs need an even one (leave a mono input out)", s.Name, s.Inputs)
	f.add(!slices.Contains(Connectors, s.Connector), "%s: connector %q is not known; known are %s", s.Name, s.Connector, quoted(Connectors))
	f.add(!slices.Contains(Connectors, s.OutputConnector), "%s: output_connector %q is not known; known are %s", s.Name, s.OutputConnector, quoted(Connectors))
	f.add(notLevel(s.MaxInputDBu), "%s: max_input_dbu = %v: want a level between %d and %+d dBu", s.Name, s.MaxInputDBu, leastDBu, mostDBu)
	f.add(notLevel(s.OperatingDBu), "%s: operating_dbu = %v: want a level between %d and %+d dBu", s.Name, s.OperatingDBu, leastDBu, mostDBu)
	f.add(s.MaxInputDBu <= s.OperatingDBu, "%s: the maximum input level %s dBu is not above the operating level %s dBu; there would be no headroom", s.Name, Signed(s.MaxInputDBu), Signed(s.OperatingDBu))
	for n, m := range s.MonoSwitches {
		f.add(s.Inputs > 0 && (m < 1 || m > s.Inputs), "%s: a mono switch on input %d, but there are inputs 1 to %d", s.Name, m, s.Inputs)
		f.add(slices.Contains(s.MonoSwitches[:n], m), "%s: the mono switch of input %d is listed twice", s.Name, m)
	}
}

func (r *Rig) checkAlignment(f *Faults) {
	a := r.Alignment
	f.add(!(a.DBFS < 0 && a.DBFS >= -60), "[alignment] dbfs = %v: want a level below 0 dBFS and not below -60", a.DBFS)
	f.add(notLevel(a.DBu), "[alignment] dbu = %v: want a level between %d and %+d dBu", a.DBu, leastDBu, mostDBu)
	f.add(!(a.VU >= -20 && a.VU <= 3), "[alignment] vu = %v: a VU meter reads from -20 to +3", a.VU)
	if notLevel(a.DBu) || !(a.DBFS < 0 && a.DBFS >= -60) {
		return
	}
	fits := len(r.Interfaces) == 0
	for _, i := range r.Interfaces {
		f.add(i.FullScaleDBu <= a.DBu, "%s: full scale at %s dBu is not above the alignment level %s dBu; programme at 0 VU would clip", i.Name, Signed(i.FullScaleDBu), Signed(a.DBu))
		fits = fits || math.Abs(i.FullScaleDBu-a.FullScaleDBu()) <= toleranceDB || notLevel(i.FullScaleDBu) || i.FullScaleDBu <= a.DBu
	}
	stated := slices.ContainsFunc(*f, func(line string) bool { return strings.HasPrefix(line, "[alignment]") })
	if !fits && !stated {
		i := r.Interfaces[0]
		f.add(true, "[alignment] %s dBFS = %s dBu puts full scale at %s dBu, but %s has it at %s dBu: %s dBFS leaves it at %s dBu", Signed(a.DBFS), Signed(a.DBu),
			Signed(a.FullScaleDBu()), i.Name, Signed(i.FullScaleDBu), Signed(a.DBFS), Signed(i.DBu(a.DBFS)))
	}
}

func (r *Rig) checkReturn(f *Faults) {
	b := r.Return
	if !b.Stated() {
		return
	}
	f.add(badName(b.PrintTrack), "print_track of [return]: want 1 to %d printable characters", longestName)
	i, ok := r.Interface(b.Interface)
	if !ok {
		var names []string
		for _, i := range r.Interfaces {
			names = append(names, i.Name)
		}
		f.add(true, "[return] interface %q is not in this rig; it has %s", b.Interface, quoted(names))
		return
	}
	lo, hi := min(b.Inputs[0], b.Inputs[1]), max(b.Inputs[0], b.Inputs[1])
	f.add(lo < 1, "[return] inputs %d/%d: inputs are counted from 1", b.Inputs[0], b.Inputs[1])
	f.add(lo > 0 && lo == hi, "[return] names input %d twice; left and right need one each", lo)
	f.add(hi > i.Inputs && i.Inputs >= 0, "[return] inputs %d/%d lie beyond the %d inputs of %s", b.Inputs[0], b.Inputs[1], i.Inputs, i.Name)
}

// checkPlugs looks for summing inputs that are claimed twice.
func (r *Rig) checkPlugs(f *Faults) {
	owner := map[int]string{}
	for n := range r.Interfaces {
		i := &r.Interfaces[n]
		first := i.FirstSummingInput
		if first == 0 {
			continue
		}
		f.add(first < 0 || first > r.Summing.Inputs, "%s: first_summing_input = %d, but %s has inputs 1 to %d", i.Name, first, r.Summing.Name, r.Summing.Inputs)
		f.add(first > 0 && first%2 == 0, "%s: first_summing_input = %d: stereo pairs begin at an odd input", i.Name, first)
		pairs, _ := i.free()
		for k := range pairs {
			at := first + 2*k
			if other, ok := owner[at]; ok {
				f.add(true, "%s and %s both claim summing inputs %d/%d", other, i.Name, at, at+1)
				break
			}
			owner[at] = i.Name
		}
	}
}

func badName(s string) bool {
	return strings.TrimSpace(s) == "" || utf8.RuneCountInString(s) > longestName || strings.ContainsFunc(s, func(c rune) bool { return c == 0xfffd || unicode.IsControl(c) || unicode.Is(unicode.Bidi_Control, c) })
}

// notLevel is true for NaN, infinities and figures no line level has.
func notLevel(v float64) bool { return !(v >= leastDBu && v <= mostDBu) }

func quoted(words []string) string {
	var q []string
	for _, w := range words {
		q = append(q, fmt.Sprintf("%q", w))
	}
	return strings.Join(q, ", ")
}
