package steps

import (
	"fmt"
	"slices"

	"foldout/plan/linecheck/trace"
	"foldout/plan/sheet"
)

// Recall is the recall sheet: what to write down, so that the sound comes back. An empty cell is a blank to fill in.
type Recall struct {
	Tables   []Table      `json:"tables"`
	Notes    []sheet.Note `json:"notes"`              // kept in the sheet
	Measured string       `json:"measured,omitempty"` // which line check stands beside; "" for none
}

// Table is one table of the recall sheet.
type Table struct {
	Title string     `json:"title"`
	Head  []string   `json:"head"`
	Rows  [][]string `json:"rows"`
}

// controls is how many lines the unit's own controls get; the program does not know them.
const controls = 8

// recall makes the recall sheet.
func (m *maker) recall() {
	r := &m.list.Recall
	r.Notes = append([]sheet.Note{}, m.Sheet.Notes...)
	if m.Baseline != nil {
		r.Measured = m.Baseline.Return
	}
	r.Tables = []Table{m.session(), m.lines()}
	r.Tables = append(r.Tables, m.controls(), m.interfaces(), m.wayBack())
	if m.Baseline != nil {
		r.Tables = append(r.Tables, m.loop())
	}
}

func (m *maker) session() Table {
	return Table{Title: "Session", Head: []string{"what", "is"}, Rows: [][]string{
		{"date", ""}, {"engineer", ""}, {"session file", ""}, {"print file", ""}, {"monitor level", ""},
	}}
}

// lines has a row for every line of every pair.
func (m *maker) lines() Table {
	t := Table{Title: "Pairs", Head: []string{"line", "trim to set", "trim set", "level at the unit", "cable"}}
	mono := false
	for _, p := range m.list.Pairs {
		mono = mono || slices.Contains(m.rig.Summing.MonoSwitches, p.SummingInputs[0]) || slices.Contains(m.rig.Summing.MonoSwitches, p.SummingInputs[1])
	}
	if mono {
		t.Head = append(t.Head, "mono switch")
	}
	if m.Baseline != nil {
		t.Head = append(t.Head, "measured last")
	}
	for _, p := range m.list.Pairs {
		for side, name := range []string{"L", "R"} {
			box := ""
			if m.several() {
				box = p.Interface + " "
			}
			row := []string{fmt.Sprintf("P%d %s %s%d > %d", p.Number, name, box, p.Outputs[side], p.SummingInputs[side]), "-", "", "", ""}
			if p.Meter != nil {
				row[1] = fmt.Sprintf("%+.1f dB", p.Meter.BalanceDB)
			}
			if mono {
				cell := "-"
				if slices.Contains(m.rig.Summing.MonoSwitches, p.SummingInputs[side]) {
					cell = ""
				}
				row = append(row, cell)
			}
			if m.Baseline != nil {
				row = append(row, m.measured(p.Interface, p.Outputs[side]))
			}
			t.Rows = append(t.Rows, row)
		}
	}
	return t
}

// measured is what the last line check said of an output.
func (m *maker) measured(box string, output int) string {
	for _, s := range m.tones.Sends {
		if s.Interface != box || s.InterfaceOutput != output {
			continue
		}
		for _, c := range m.Baseline.Channels {
			if c.Output == s.Output {
				return channel(c)
			}
		}
	}
	return "not checked"
}

func channel(c trace.Channel) string {
	switch {
	case c.Alive == nil:
		return "not heard"
	case !*c.Alive:
		return "dead"
	}
	text := fmt.Sprintf("%+.2f dB, %.2f samples", float64(c.GainDB), float64(c.DelaySamples))
	if exists(c.THDPercent) {
		text += fmt.Sprintf(", THD %.3f %%", float64(c.THDPercent))
	}
	if c.Polarity == "inverted" {
		text += ", inverted"
	}
	return text
}

func (m *maker) controls() Table {
	t := Table{Title: "Controls of " + m.list.Unit + ", in the order of its front", Head: []string{"control", "stands at"}}
	for range controls {
		t.Rows = append(t.Rows, []string{"", ""})
	}
	return t
}

// interfaces has what is set on the boxes themselves.
func (m *maker) interfaces() Table {
	t := Table{Title: "Interfaces", Head: []string{"box", "setting", "should be", "is"}}
	for _, i := range m.rig.Interfaces {
		t.Rows = append(t.Rows, []string{i.Name, "outputs at 0 dBFS", fmt.Sprintf("%+.4g dBu", i.FullScaleDBu), ""})
		for _, what := range []string{"clock from", "buffer"} {
			t.Rows = append(t.Rows, []string{i.Name, what, "-", ""})
		}
	}
	rate := "-"
	if m.Levels != nil {
		rate = fmt.Sprintf("%g kHz", float64(m.Levels.RateHz)/1000)
	}
	t.Rows = append(t.Rows, []string{"all", "sample rate", rate, ""}, []string{"all", "alignment", m.list.Alignment, ""})
	return t
}

func (m *maker) wayBack() Table {
	t := Table{Title: "Return", Head: []string{"line", "input gain", "cable"}}
	r := m.list.Return
	for side, name := range []string{"L", "R"} {
		line := fmt.Sprintf("%s %s > ", m.list.Unit, name)
		if r.Stated {
			line += fmt.Sprintf("%s %d", r.Interface, r.Inputs[side])
		}
		t.Rows = append(t.Rows, []string{line, "", ""})
	}
	for range 3 {
		t.Rows = append(t.Rows, []string{"processing, in order:", "", "-"})
	}
	return t
}

// loop is what the last line check said of all together.
func (m *maker) loop() Table {
	b := m.Baseline
	t := Table{Title: "Last line check, " + b.Return, Head: []string{"what", "was", "is"}}
	add := func(what, was string) { t.Rows = append(t.Rows, []string{what, was, ""}) }
	add("gain most outputs have", db2(b.GainDB, "dB"))
	if exists(b.LatencySamples) {
		add("latency of the recording", fmt.Sprintf("%.2f samples", float64(b.LatencySamples)))
	}
	add("drift of the clock", fmt.Sprintf("%.3f ppm", b.DriftPPM))
	add("noise, A-weighted", db2(b.NoiseADBFS, "dBFS"))
	if b.Hum != nil {
		add("hum", fmt.Sprintf("%.0f Hz, %s", b.Hum.Hz, db2(b.Hum.DBFS, "dBFS")))
	} else {
		add("hum", "none")
	}
	add("complaints", found(b))
	return t
}
