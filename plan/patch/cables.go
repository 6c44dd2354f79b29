package patch

import (
	"fmt"
	"maps"
	"slices"
	"strings"

	"foldout/plan/rig"
)

// Cable is one entry of the list to buy or to label.
type Cable struct {
	Count  int       `json:"count"`
	Kind   string    `json:"kind"`   // what to ask for
	Loom   bool      `json:"loom"`   // an eight-way loom; otherwise single balanced leads
	From   string    `json:"from"`   // device and sockets
	To     string    `json:"to"`     // device and sockets, or tails
	Carry  string    `json:"carry"`  // pairs it carries: "P1, P2 L"
	Labels [2]string `json:"labels"` // for the two ends
	Have   int       `json:"have"`   // how many of them the rig says are there; -1 if it does not say
}

// run is one line with its devices, the raw material of the cable list.
type run struct {
	box  string
	line Line
	pair int
}

// cables lists what is needed. A loom runs straight where one output D-type meets one input D-type channel for
// channel; elsewhere D-types are broken out to tails. Single leads join what has no D-type.
func (p *Patch) cables(r *rig.Rig) []Cable {
	outs, ins := map[string][]run{}, map[int][]run{}
	var order []string // of output D-types
	var leads []run
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			u := run{l.Interface, line, l.Number}
			from, to := line.From.Connector == rig.DSub, line.To.Connector == rig.DSub
			if from {
				key := fmt.Sprintf("%s\x00%d", l.Interface, line.From.Plug)
				if outs[key] == nil {
					order = append(order, key)
				}
				outs[key] = append(outs[key], u)
			}
			if to {
				ins[line.To.Plug] = append(ins[line.To.Plug], u)
			}
			if !from && !to {
				leads = append(leads, u)
			}
		}
	}
	var list []Cable
	straight := map[int]bool{}
	for _, key := range order {
		runs := outs[key]
		if plug, ok := through(runs, ins); ok {
			straight[plug] = true
			list = append(list, loom(runs, r))
			continue
		}
		list = append(list, fanOut(runs, r))
	}
	for _, plug := range slices.Sorted(maps.Keys(ins)) {
		if !straight[plug] {
			list = append(list, fanIn(ins[plug], r))
		}
	}
	list = append(list, singles(leads, r)...)
	list = append(list, p.home(r)...)
	return stock(list, r.Cables)
}

// through reports whether all runs of an output D-type meet one input D-type, channel for channel, and nothing else
// is plugged there.
func through(runs []run, ins map[int][]run) (plug int, ok bool) {
	plug = runs[0].line.To.Plug
	for _, u := range runs {
		if u.line.To.Connector != rig.DSub || u.line.To.Plug != plug || u.line.To.Channel != u.line.From.Channel {
			return 0, false
		}
	}
	return plug, len(ins[plug]) == len(runs)
}

func loom(runs []run, r *rig.Rig) Cable {
	c := Cable{Count: 1, Loom: true, Carry: carried(runs)}
	c.Kind = "25-way D-type to 25-way D-type, eight channels straight (AES59 analogue)"
	if t := tails(runs, r); t != "" {
		c.Kind += "; " + t
	}
	f, t := runs[0].line.From, runs[0].line.To
	c.From, c.To = fmt.Sprintf("%s, output D-type %d", runs[0].box, f.Plug), fmt.Sprintf("%s, input D-type %d", r.Summing.Name, t.Plug)
	c.Labels = [2]string{fmt.Sprintf("%s OUT D%d", runs[0].box, f.Plug), fmt.Sprintf("%s IN D%d", r.Summing.Name, t.Plug)}
	return c
}

// tails says which channels of a loom must leave it, because they feed speakers or something else.
func tails(runs []run, r *rig.Rig) string {
	box, _ := r.Interface(runs[0].box)
	var out []string
	for ch := 1; ch <= 8; ch++ {
		n := 8*(runs[0].line.From.Plug-1) + ch
		if box.HasMonitors() && slices.Contains(box.MonitorPair[:], n) || slices.Contains(box.ReservedOutputs, n) {
			out = append(out, fmt.Sprint(ch))
		}
	}
	if len(out) == 0 {
		return ""
	}
	return "channels " + strings.Join(out, ", ") + " brought out as XLR male tails, not wired to the far end"
}

func fanOut(runs []run, r *rig.Rig) Cable {
	c := Cable{Count: 1, Loom: true, Carry: carried(runs)}
	kinds := map[string]int{}
	for _, u := range runs {
		kinds[tailFor(u.line.To.Connector, "male")]++
	}
	c.Kind = "25-way D-type (AES59 analogue) to eight tails: " + counted(kinds)
	if t := tails(runs, r); t != "" {
		c.Kind += "; " + t
	}
	plug := runs[0].line.From.Plug
	c.From, c.To = fmt.Sprintf("%s, output D-type %d", runs[0].box, plug), tailsTo(runs, r)
	c.Labels = [2]string{fmt.Sprintf("%s OUT D%d", runs[0].box, plug), "each tail as its line"}
	return c
}

func fanIn(runs []run, r *rig.Rig) Cable {
	c := Cable{Count: 1, Loom: true, Carry: carried(runs)}
	kinds := map[string]int{}
	var boxes []string
	for _, u := range runs {
		kinds[tailFor(u.line.From.Connector, "female")]++
		if !slices.Contains(boxes, u.box) {
			boxes = append(boxes, u.box)
		}
	}
	c.Kind = "eight tails to 25-way D-type (AES59 analogue): " + counted(kinds)
	plug := runs[0].line.To.Plug
	c.From, c.To = "tails from "+strings.Join(boxes, " and "), fmt.Sprintf("%s, input D-type %d", r.Summing.Name, plug)
	c.Labels = [2]string{"each tail as its line", fmt.Sprintf("%s IN D%d", r.Summing.Name, plug)}
	return c
}

// tailFor is the plug of a tail: a jack for a jack, else an XLR. Signal leaves by male contacts, enters by female.
func tailFor(connector, gender string) string {
	if connector == rig.TRS {
		return "TRS"
	}
	return "XLR " + gender
}

func tailsTo(runs []run, r *rig.Rig) string {
	if runs[0].line.To.Connector == rig.DSub {
		return "tails of the looms into " + r.Summing.Name
	}
	return fmt.Sprintf("%s, inputs %d to %d", r.Summing.Name, runs[0].line.SummingInput, runs[len(runs)-1].line.SummingInput)
}

// singles gathers single leads of one kind between the same devices.
func singles(leads []run, r *rig.Rig) (list []Cable) {
	for len(leads) > 0 {
		box := leads[0].box
		var mine []run
		leads = slices.DeleteFunc(slices.Clone(leads), func(u run) bool {
			if u.box == box {
				mine = append(mine, u)
			}
			return u.box == box
		})
		f, t := mine[0].line.From.Connector, mine[0].line.To.Connector
		list = append(list, Cable{
			Count: len(mine), Kind: lead(f, t), From: box + ", " + numbered("output", mine, func(l Line) int { return l.Output }),
			To: r.Summing.Name + ", " + numbered("input", mine, func(l Line) int { return l.SummingInput }), Carry: carried(mine),
			Labels: [2]string{"each as its line", "each as its line"},
		})
	}
	return list
}

// home is the pair of leads from the summing output to the return inputs.
func (p *Patch) home(r *rig.Rig) []Cable {
	if p.Return.Interface == "" {
		return nil
	}
	f, t := p.Return.From[0].Connector, p.Return.To[0].Connector
	c := Cable{
		Count: 2, Kind: lead(f, t), From: r.Summing.Name + ", stereo output", Carry: "return L, return R",
		To: fmt.Sprintf("%s, inputs %d/%d", p.Return.Interface, p.Return.Inputs[0], p.Return.Inputs[1]), Labels: p.Return.Label,
	}
	if f == rig.DSub || t == rig.DSub {
		c.Count, c.Loom = 1, true
	}
	switch {
	case f == rig.DSub && t == rig.DSub:
		c.Kind = "25-way D-type to 25-way D-type, two channels (AES59 analogue), made to order"
		if p.Return.From[0].Channel == p.Return.To[0].Channel && p.Return.From[1].Channel == p.Return.To[1].Channel && p.Return.To[0].Plug == p.Return.To[1].Plug {
			c.Kind = "25-way D-type to 25-way D-type, eight channels straight (AES59 analogue)"
		}
	case t == rig.DSub:
		c.Kind = "tails to 25-way D-type (AES59 analogue): 2 " + tailFor(f, "female")
		if p.Return.To[0].Plug != p.Return.To[1].Plug {
			c.Count = 2
		}
	case f == rig.DSub:
		c.Kind = "25-way D-type (AES59 analogue) to tails: 2 " + tailFor(t, "male")
	}
	return []Cable{c}
}

// lead names a single balanced lead by its plugs: outputs are male, inputs female, so the lead is the other way.
func lead(from, to string) string {
	a, b := tailFor(from, "female"), tailFor(to, "male")
	return "balanced lead, " + a + " to " + b
}

// stock takes what the rig says is there off the list, in the list's order.
func stock(list []Cable, have rig.Cables) []Cable {
	looms, leads := have.Looms, have.Leads
	for i := range list {
		n := &leads
		if list[i].Loom {
			n = &looms
		}
		if *n < 0 {
			list[i].Have = -1
			continue
		}
		list[i].Have = min(*n, list[i].Count)
		*n -= list[i].Have
	}
	return list
}

// short names the pairs that the cables at hand do not reach.
func short(list []Cable) (notes []string) {
	for _, c := range list {
		if c.Have >= 0 && c.Buy() > 0 {
			notes = append(notes, fmt.Sprintf("cables: %d of %d missing for %s (%s); until they are there, not all of these sound", c.Buy(), c.Count, c.Carry, c.Kind))
		}
	}
	return notes
}

// Buy returns how many of a cable are still to be bought; all of them where the rig does not say what is there.
func (c Cable) Buy() int { return c.Count - max(c.Have, 0) }

// carried names the lines of a cable, both sides of a pair as one: "P1, P2, P3 L".
func carried(runs []run) string {
	var who []string
	for n := 0; n < len(runs); n++ {
		if n+1 < len(runs) && runs[n].pair == runs[n+1].pair {
			who = append(who, fmt.Sprintf("P%d", runs[n].pair))
			n++
			continue
		}
		who = append(who, fmt.Sprintf("P%d %s", runs[n].pair, runs[n].line.Side))
	}
	return strings.Join(who, ", ")
}

func counted(kinds map[string]int) string {
	var parts []string
	for _, k := range slices.Sorted(maps.Keys(kinds)) {
		parts = append(parts, fmt.Sprintf("%d %s", kinds[k], k))
	}
	return strings.Join(parts, ", ")
}

func numbered(what string, runs []run, of func(Line) int) string {
	var n []string
	for _, u := range runs {
		n = append(n, fmt.Sprint(of(u.line)))
	}
	return what + "s " + strings.Join(n, ", ")
}
