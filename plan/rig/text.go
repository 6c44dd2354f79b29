package rig

import (
	"fmt"
	"io"
	"strings"
)

// connectorName is a connector's name on paper.
var connectorName = map[string]string{DSub: "25-way D-type", TRS: "TRS", XLR: "XLR"}

// WriteText draws the rig for people: each interface with what hangs on its outputs, the summing unit, the way back,
// what is left over, what was assumed.
func (r *Rig) WriteText(w io.Writer) error {
	pairs, notes, err := r.Pairs()
	if err != nil {
		return err
	}
	var b strings.Builder
	fmt.Fprintf(&b, "%s: %d %s free for the mix\n", r.Name, len(pairs), plural(len(pairs), "pair", "pairs"))
	fmt.Fprintf(&b, "Alignment %s, mono tracks in the centre at %s each side.\n", r.Alignment, r.Pan)
	number := 0
	for _, i := range r.Interfaces {
		fmt.Fprintf(&b, "\n+-- %s: %d line outputs (%s), %d inputs (%s), full scale %s dBu = %.2f V\n", i.Name, i.LineOutputs, connectorName[i.Connector],
			i.Inputs, connectorName[i.InputConnector], signed(i.FullScaleDBu), Volts(i.FullScaleDBu))
		if i.HasMonitors() {
			fmt.Fprintf(&b, "|   out %-7s ---> speakers\n", slash(i.MonitorPair))
		}
		for _, p := range pairs {
			if p.Interface == i.Name {
				number++
				fmt.Fprintf(&b, "|   out %-7s ---> pair %-2d ---> %s in %s\n", slash(p.Outputs), number, r.Summing.Name, slash(p.SummingInputs))
			}
		}
		if r.Return.Interface == i.Name {
			fmt.Fprintf(&b, "|   in  %-7s <--- return from %s, printed on %q\n", slash(r.Return.Inputs), r.Summing.Name, r.Return.PrintTrack)
		}
	}
	s := r.Summing
	fmt.Fprintf(&b, "\n+-- %s: %d inputs (%s), operating level %s dBu, clips above %s dBu, output %s\n", s.Name, s.Inputs, connectorName[s.Connector],
		signed(s.OperatingDBu), signed(s.MaxInputDBu), connectorName[s.OutputConnector])
	if len(s.MonoSwitches) > 0 {
		fmt.Fprintf(&b, "|   mono switches on inputs %s\n", list(s.MonoSwitches))
	}
	for _, part := range []struct {
		title string
		lines []string
	}{{"Left over and taken", notes}, {"Taken for granted", r.Assumed}} {
		if len(part.lines) > 0 {
			fmt.Fprintf(&b, "\n%s\n  %s\n", part.title, strings.Join(part.lines, "\n  "))
		}
	}
	_, err = io.WriteString(w, b.String())
	return err
}

func slash(p [2]int) string { return fmt.Sprintf("%d/%d", p[0], p[1]) }

func plural(n int, one, many string) string {
	if n == 1 {
		return one
	}
	return many
}
