package main

import (
	"encoding/csv"
	"encoding/json"
	"fmt"
	"io"
	"math"
	"path"
	"strconv"
	"strings"

	"github.com/jedib0t/go-pretty/v6/table"
	"github.com/jedib0t/go-pretty/v6/text"
	"github.com/spf13/cobra"

	"foldout/features"
	"foldout/plan/levels"
	"foldout/plan/report"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

func newLevels() *cobra.Command {
	var (
		rigFile, folder, format, out string
		sameStart, force             bool
		html                         htmlPage
	)
	cmd := &cobra.Command{
		Use:   "levels SHEET --rig RIG",
		Short: "Sum every pair and say what the summing unit will see",
		Long: `levels sums the tracks of every pair of a saved sheet sample by sample and measures the sums: true peak and
loudness (ITU-R BS.1770-5), VU (IEC 60268-17) at the operating level, correlation and what is lost in mono,
the level at the summing input in dBu, the headroom of converter and unit, the tracks that cause overs, and
the trim that brings each pair to the operating level. Mono tracks go to both sides with the pan law of the
rig; the halves of a split stereo source go to their sides.

The trim: loud passages (the highest twentieth of the VU readings within 20 dB of the highest) read 0 VU, as
far as the true peak stays at -1 dBTP and below the unit's maximum input. Trims of single pairs change the
balance between them; the common trim keeps it.

Without --rig it takes a plain one and -18 dBFS = 0 VU = +4 dBu, and says so.`,
		Example: `  foldout levels song.sheet.json --rig studio.toml
  foldout levels song.sheet.json --rig studio.toml --format csv --out levels.csv`,
		Args: args(cobra.ExactArgs(1)),
		RunE: func(cmd *cobra.Command, list []string) error {
			write, ok := levelWriters[format]
			if !ok {
				return usagef("--format %s: want text, json or csv", format)
			}
			if err := free(force, out, html.file); err != nil {
				return err
			}
			sheet, err := sheet.Load(list[0])
			if err != nil {
				return err
			}
			r, err := loadRig(cmd, rigFile)
			if err != nil {
				return err
			}
			bar := newBar(cmd.ErrOrStderr(), "summing")
			l, err := levels.Measure(cmd.Context(), sheet, r, levels.Options{Folder: folder, SameStart: sameStart, Progress: bar.set})
			bar.finish()
			if err != nil {
				return fmt.Errorf("%s: %w", list[0], err)
			}
			if err := writeOut(cmd, out, force, func(w io.Writer) error { return write(w, l) }); err != nil {
				return err
			}
			return html.write(cmd, force, report.Page{Levels: l})
		},
	}
	f := cmd.Flags()
	html.register(f)
	f.StringVar(&rigFile, "rig", "", "rig `FILE`, as foldout rig new writes it")
	f.StringVar(&folder, "folder", "", "`FOLDER` where the tracks are, if they have moved since the sheet was made")
	f.BoolVar(&sameStart, "same-start", false, "all files begin together, whatever their time references say")
	f.StringVar(&format, "format", "text", "text for people, json or csv for machines")
	f.StringVar(&out, "out", "", "write to this `FILE` instead of the screen")
	f.BoolVar(&force, "force", false, "replace an existing file")
	return cmd
}

// loadRig reads a rig file; without one it says what is taken instead and returns nil, which stands for a plain rig.
func loadRig(cmd *cobra.Command, path string) (*rig.Rig, error) {
	if path == "" {
		warn(cmd, "no --rig given: a plain one is taken, %s; foldout rig new makes your own", rig.DefaultAlignment)
		return nil, nil
	}
	return rig.Load(path)
}

var levelWriters = map[string]func(io.Writer, *levels.Levels) error{
	"text": writeLevelsText, "csv": writeLevelsCSV,
	"json": func(w io.Writer, l *levels.Levels) error {
		e := json.NewEncoder(w)
		e.SetIndent("", "  ")
		e.SetEscapeHTML(false)
		return e.Encode(l)
	},
}

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

func newTable(right int) table.Writer {
	t := table.NewWriter()
	t.SetStyle(table.StyleLight)
	t.Style().Options = table.OptionsNoBordersAndSeparators
	t.Style().Format.Header = text.FormatDefault
	var config []table.ColumnConfig
	for n := 2; n <= right; n++ {
		config = append(config, table.ColumnConfig{Number: n, Align: text.AlignRight, AlignHeader: text.AlignRight})
	}
	t.SetColumnConfigs(config)
	return t
}

func writeLevelsText(w io.Writer, l *levels.Levels) error {
	var b strings.Builder
	fmt.Fprintf(&b, "%s through %s: %s, mono tracks at %s, %s at %g kHz\n\nThe sums\n", printable(l.Title), printable(l.Rig), l.Alignment, l.Pan, clock(l.DurationS), float64(l.RateHz)/1000)
	sums := newTable(len(levelColumns) + 2)
	head, units := table.Row{"pair"}, table.Row{""}
	for _, c := range levelColumns {
		head, units = append(head, c.heading), append(units, c.unit)
	}
	sums.AppendHeader(append(head, "correlation"))
	sums.AppendRow(append(units, ""))
	row := func(name string, s *levels.Sum) {
		r := table.Row{name}
		for _, c := range levelColumns {
			r = append(r, level(c.value(s)))
		}
		sums.AppendRow(append(r, fmt.Sprintf("%+.2f", s.Correlation)))
	}
	for n := range l.Pairs {
		row(pairName(&l.Pairs[n]), &l.Pairs[n].Sum)
	}
	row("all pairs", &l.Total)
	fmt.Fprintf(&b, "%s\n\nWhat each input of %s sees, and what is left\n", sums.Render(), printable(l.Unit))
	inputs := newTable(len(inputColumns) + 2)
	head, units = table.Row{"pair", "inputs"}, table.Row{"", ""}
	for _, c := range inputColumns {
		head, units = append(head, c.heading), append(units, c.unit)
	}
	width := screenOf(w).width
	if width >= limitWidth {
		head, units = append(head, "set by"), append(units, "")
	}
	inputs.AppendHeader(head)
	inputs.AppendRow(units)
	for n := range l.Pairs {
		p := &l.Pairs[n]
		r := table.Row{pairName(p), fmt.Sprintf("%d/%d", p.SummingInputs[0], p.SummingInputs[1])}
		for _, c := range inputColumns {
			r = append(r, level(c.value(p)))
		}
		if width >= limitWidth {
			r = append(r, p.Trim.Limit)
		}
		inputs.AppendRow(r)
	}
	b.WriteString(inputs.Render() + "\n\n")
	tables := b.String()
	b.Reset()
	if l.Common.Pair > 0 {
		fmt.Fprintf(&b, "Trims of single pairs change the balance between them. All pairs alike: %+.1f dB, set by pair %d (%s).\n", l.Common.GainDB, l.Common.Pair, l.Common.Limit)
	}
	writeOvers(&b, l)
	section(&b, "Notes", l.Notes)
	section(&b, "Cautions", l.Cautions)
	_, err := io.WriteString(w, trimLines(tables)+wrapLines(b.String(), width))
	return err
}

// limitWidth is how wide a screen has to be for the column that says what set a trim.
const limitWidth = 96

// shownOvers is how many overs of a pair the text lists.
const shownOvers = 8

func writeOvers(b *strings.Builder, l *levels.Levels) {
	for n := range l.Pairs {
		p := &l.Pairs[n]
		if p.OverCount == 0 {
			continue
		}
		fmt.Fprintf(b, "\n%s: beyond the limit at %s\n", pairName(p), count(p.OverCount, "place"))
		for _, o := range p.Overs[:min(len(p.Overs), shownOvers)] {
			fmt.Fprintf(b, "  %s %s  %+.2f dBFS = %+.1f dBu, clips the %s: %s\n", clock(o.TimeS), o.Side, float64(o.PeakDBFS), float64(o.PeakDBu), o.Clips, shares(o.Tracks))
		}
		if rest := p.OverCount - shownOvers; rest > 0 {
			fmt.Fprintf(b, "  and %d more\n", rest)
		}
		if p.OverCount > 1 && len(p.Offenders) > 0 {
			fmt.Fprintf(b, "  on the whole: %s\n", shares(p.Offenders[:min(len(p.Offenders), 5)]))
		}
	}
}

func shares(list []levels.Offender) string {
	var parts []string
	for _, o := range list {
		parts = append(parts, fmt.Sprintf("%s %.0f %%", printable(path.Base(o.File)), 100*o.Share))
	}
	return strings.Join(parts, ", ")
}

func section(b *strings.Builder, title string, lines []string) {
	if len(lines) == 0 {
		return
	}
	fmt.Fprintf(b, "\n%s\n", title)
	for _, line := range lines {
		fmt.Fprintf(b, "  - %s\n", printable(line))
	}
}

func pairName(p *levels.Pair) string { return fmt.Sprintf("%d %s", p.Number, printable(p.Name)) }

// clock writes seconds as m:ss.sss.
func clock(seconds float64) string {
	ms := int64(math.Round(seconds * 1000))
	return fmt.Sprintf("%d:%02d.%03d", ms/60000, ms/1000%60, ms%1000)
}

func writeLevelsCSV(w io.Writer, l *levels.Levels) error {
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
	rows := [][]string{append(head, "trim_limit", "overs", "offenders")}
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
		rows = append(rows, append(row, p.Trim.Limit, strconv.Itoa(p.OverCount), shares(p.Offenders)))
	}
	total := append([]string{"all", "all pairs", "", "", "", ""}, sum(&l.Total)...)
	rows = append(rows, append(total, make([]string, len(rows[0])-len(total))...))
	return csv.NewWriter(w).WriteAll(rows)
}
