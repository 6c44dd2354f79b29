package text

import (
	"fmt"
	"io"

	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// connectorNames are the names of connectors on paper.
var connectorNames = map[string]string{rig.DSub: "25-way D-type", rig.TRS: "TRS", rig.XLR: "XLR"}

// Rig draws a rig for people: each interface with what hangs on its outputs, the summing unit, the way back, what is left
// over, what was assumed.
func Rig(w io.Writer, r *rig.Rig) error {
	pairs, notes, err := r.Pairs()
	if err != nil {
		return err
	}
	p := newPrinter(w)
	p.line("%s: %s free for the mix", sheet.Printable(r.Name), count(len(pairs), "pair"))
	p.item("", fmt.Sprintf("Alignment %s, mono tracks in the centre at %s each side.", r.Alignment, r.Pan))
	number := 0
	for _, i := range r.Interfaces {
		p.line("")
		p.item("+-- ", fmt.Sprintf("%s: %d line outputs (%s), %d inputs (%s), full scale %s dBu = %.2f V", sheet.Printable(i.Name), i.LineOutputs, connectorNames[i.Connector],
			i.Inputs, connectorNames[i.InputConnector], rig.Signed(i.FullScaleDBu), rig.Volts(i.FullScaleDBu)))
		if i.HasMonitors() {
			p.line("|   out %-7s ---> speakers", slash(i.MonitorPair))
		}
		for _, free := range pairs {
			if free.Interface == i.Name {
				number++
				p.item("|   ", fmt.Sprintf("out %-7s ---> pair %-2d ---> %s in %s", slash(free.Outputs), number, sheet.Printable(r.Summing.Name), slash(free.SummingInputs)))
			}
		}
		if r.Return.Interface == i.Name {
			p.item("|   ", fmt.Sprintf("in  %-7s <--- return from %s, printed on %q", slash(r.Return.Inputs), sheet.Printable(r.Summing.Name), sheet.Printable(r.Return.PrintTrack)))
		}
	}
	s := r.Summing
	p.line("")
	p.item("+-- ", fmt.Sprintf("%s: %d inputs (%s), operating level %s dBu, clips above %s dBu, output %s", sheet.Printable(s.Name), s.Inputs, connectorNames[s.Connector],
		rig.Signed(s.OperatingDBu), rig.Signed(s.MaxInputDBu), connectorNames[s.OutputConnector]))
	if len(s.MonoSwitches) > 0 {
		p.item("|   ", "mono switches on inputs "+rig.Numbers(s.MonoSwitches))
	}
	p.lines("Left over and taken", notes)
	p.lines("Taken for granted", r.Assumed)
	return p.err
}

// lines writes lines under a heading, or nothing.
func (p *printer) lines(title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	p.head(title)
	for _, l := range lines {
		p.item("  ", sheet.Printable(l))
	}
}

func slash(p [2]int) string { return fmt.Sprintf("%d/%d", p[0], p[1]) }
