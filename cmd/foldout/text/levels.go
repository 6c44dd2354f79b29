package text

import (
	"fmt"
	"io"
	"math"
	"path"
	"strconv"
	"strings"

	"foldout/features"
	"foldout/features/csvsafe"
	"foldout/plan/levels"
	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// levelColumns are the columns of table and CSV that a pair and the total share: heading, unit, key, value.
var levelColumns = []struct {
	heading, unit, key string
	value              func(*levels.Sum) features.DB
}{
	{"true peak", "dBTP", "true_peak_dbtp", func(s *levels.Sum) features.DB { return s.TruePeakDBTP }},
	{"loudness", "LUFS", "integrated_lufs", func(s *levels.Sum) features.DB { return s.IntegratedLUFS }},
	{"VU max", "VU", "vu_max", func(s *levels.Sum) features.DB { return s.VUMax }},
	{"VU loud", "VU", "vu_loud", func(s *levels.Sum) features.DB { return s.VULoud }},
	{"mono loss", "dB", "mono_loss_db", func(s *levels.Sum) features.DB { return s.MonoLossDB }},
}

// inputColumns are those that only a pair has.
var inputColumns = []struct {
	heading, unit, key string
	value              func(*levels.Pair) features.DB
}{
	{"rms", "dBu", "rms_dbu", func(p *levels.Pair) features.DB { return p.Input.RMSDBu }},
	{"VU max", "dBu", "vu_max_dbu", func(p *levels.Pair) features.DB { return p.Input.VUMaxDBu }},
	{"peak", "dBu", "peak_dbu", func(p *levels.Pair) features.DB { return p.Input.PeakDBu }},
	{"to 0 dBFS", "dB", "headroom_converter_db", func(p *levels.Pair) features.DB { return p.HeadroomConverterDB }},
	{"to unit", "dB", "headroom_unit_db", func(p *levels.Pair) features.DB { return p.HeadroomUnitDB }},
	{"trim", "dB", "trim_db", func(p *levels.Pair) features.DB { return features.DB(p.Trim.GainDB) }},
}

// level writes a figure of a table; silence is a dash.
func level(v features.DB) string {
	if math.IsInf(float64(v), 0) || math.IsNaN(float64(v)) {
		return "-"
	}
	if s := fmt.Sprintf("%+.1f", float64(v)); s != "-0.0" && s != "+0.0" {
		return s
	}
	return "0.0"
}

// Levels writes the sums, what the unit sees, and the overs.
func Levels(w io.Writer, l *levels.Levels) error {
	p := newPrinter(w)
	p.item("", fmt.Sprintf("%s through %s: %s, mono tracks at %s, %s at %g kHz", sheet.Printable(l.Title), sheet.Printable(l.Rig), l.Alignment, l.Pan, clock(l.DurationS), float64(l.RateHz)/1000))
	p.head("The sums")
	p.blocks(sumRows(l))
	p.head(fmt.Sprintf("What each input of %s sees, and what is left", sheet.Printable(l.Unit)))
	p.blocks(inputRows(l))
	p.line("")
	var b strings.Builder
	if l.Common.Pair > 0 && l.Differ() {
		b.WriteString("Trims of single pairs change the balance between them. To keep it:\n")
		for _, x := range l.Interfaces {
			fmt.Fprintf(&b, "  all pairs of %s: %+.1f dB (full scale is %+g dBu there)\n", sheet.Printable(x.Interface), x.GainDB, x.FullScaleDBu)
		}
	} else if l.Common.Pair > 0 {
		fmt.Fprintf(&b, "Trims of single pairs change the balance between them. All pairs alike: %+.1f dB, set by pair %d (%s).\n", l.Common.GainDB, l.Common.Pair, l.Common.Limit)
	}
	writeOvers(&b, l)
	section(&b, "Notes", l.Notes)
	section(&b, "Cautions", l.Cautions)
	if p.err == nil {
		_, p.err = io.WriteString(w, wrapLines(b.String(), p.scr.width))
	}
	return p.err
}

func sumRows(l *levels.Levels) [][]string {
	head, units := []string{"pair"}, []string{""}
	for _, c := range levelColumns {
		head, units = append(head, c.heading), append(units, c.unit)
	}
	rows := [][]string{append(head, "correlation"), append(units, "")}
	add := func(name string, s *levels.Sum) {
		r := []string{name}
		for _, c := range levelColumns {
			r = append(r, level(c.value(s)))
		}
		rows = append(rows, append(r, fmt.Sprintf("%+.2f", s.Correlation)))
	}
	for n := range l.Pairs {
		add(pairName(&l.Pairs[n]), &l.Pairs[n].Sum)
	}
	add("all pairs", &l.Total)
	return rows
}

func inputRows(l *levels.Levels) [][]string {
	head, units := []string{"pair", "inputs"}, []string{"", ""}
	several := len(l.Interfaces) > 1
	if several {
		head[0] = "pair from"
	}
	for _, c := range inputColumns {
		head, units = append(head, c.heading), append(units, c.unit)
	}
	rows := [][]string{append(head, "set by"), append(units, "")}
	for n := range l.Pairs {
		p := &l.Pairs[n]
		name := pairName(p)
		if several {
			name = fmt.Sprintf("%d %s %d/%d", p.Number, sheet.Printable(p.Interface), p.Outputs[0], p.Outputs[1])
		}
		r := []string{name, fmt.Sprintf("%d/%d", p.SummingInputs[0], p.SummingInputs[1])}
		for _, c := range inputColumns {
			r = append(r, level(c.value(p)))
		}
		rows = append(rows, append(r, p.Trim.Limit))
	}
	return rows
}

// shownOvers is how many overs of a pair the text lists.
const shownOvers = 8

func writeOvers(b *strings.Builder, l *levels.Levels) {
	for n := range l.Pairs {
		p := &l.Pairs[n]
		if p.OverCount == 0 {
			continue
		}
		fmt.Fprintf(b, "\n%s: beyond the limit in %s\n", pairName(p), stems.OverWords(p.OverCount, p.OverS))
		for _, o := range p.Overs[:min(len(p.Overs), shownOvers)] {
			more := ""
			if o.Stretches > 1 {
				more = ", " + stems.OverWords(o.Stretches, o.BeyondS)
			}
			fmt.Fprintf(b, "  %s %s  %+.2f dBFS = %+.1f dBu%s, clips the %s: %s\n", clock(o.TimeS), o.Side, float64(o.PeakDBFS), float64(o.PeakDBu), more, o.Clips, shares(o.Tracks))
		}
		if rest := len(p.Overs) - shownOvers; rest > 0 {
			fmt.Fprintf(b, "  and %s more\n", count(rest, "place"))
		}
		if len(p.Overs) > 1 && len(p.Offenders) > 0 {
			fmt.Fprintf(b, "  on the whole: %s\n", shares(p.Offenders[:min(len(p.Offenders), 5)]))
		}
	}
}

func shares(list []levels.Offender) string {
	var parts []string
	for _, o := range list {
		parts = append(parts, fmt.Sprintf("%s %.0f %%", sheet.Printable(path.Base(o.File)), 100*o.Share))
	}
	return strings.Join(parts, ", ")
}

func section(b *strings.Builder, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", title)
	for _, line := range lines {
		fmt.Fprintf(b, "  - %s\n", sheet.Printable(line))
	}
}

func pairName(p *levels.Pair) string { return fmt.Sprintf("%d %s", p.Number, sheet.Printable(p.Name)) }

// clock writes seconds as m:ss.sss.
func clock(seconds float64) string {
	ms := int64(math.Round(seconds * 1000))
	return fmt.Sprintf("%d:%02d.%03d", ms/60000, ms/1000%60, ms%1000)
}

// LevelsCSV writes one row per pair and one for all.
func LevelsCSV(w io.Writer, l *levels.Levels) error {
	number := func(v features.DB) string {
		if math.IsInf(float64(v), 0) || math.IsNaN(float64(v)) {
			return ""
		}
		return strconv.FormatFloat(float64(v), 'f', 4, 64)
	}
	head := []string{"pair", "name", "interface", "outputs", "summing_inputs", "tracks"}
	for _, c := range levelColumns {
		head = append(head, c.key)
	}
	head = append(head, "correlation")
	for _, c := range inputColumns {
		head = append(head, c.key)
	}
	rows := [][]string{append(head, "trim_limit", "over_stretches", "over_s", "offenders")}
	sum := func(s *levels.Sum) (cells []string) {
		for _, c := range levelColumns {
			cells = append(cells, number(c.value(s)))
		}
		return append(cells, strconv.FormatFloat(s.Correlation, 'f', 4, 64))
	}
	for n := range l.Pairs {
		p := &l.Pairs[n]
		row := []string{strconv.Itoa(p.Number), p.Name, p.Interface, fmt.Sprintf("%d/%d", p.Outputs[0], p.Outputs[1]),
			fmt.Sprintf("%d/%d", p.SummingInputs[0], p.SummingInputs[1]), strconv.Itoa(p.Tracks)}
		row = append(row, sum(&p.Sum)...)
		for _, c := range inputColumns {
			row = append(row, number(c.value(p)))
		}
		rows = append(rows, append(row, p.Trim.Limit, strconv.Itoa(p.OverCount), strconv.FormatFloat(p.OverS, 'f', 6, 64), shares(p.Offenders)))
	}
	total := append([]string{"all", "all pairs", "", "", "", ""}, sum(&l.Total)...)
	rows = append(rows, append(total, make([]string, len(rows[0])-len(total))...))
	return csvsafe.Write(w, rows)
}
