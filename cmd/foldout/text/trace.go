package text

import (
	"fmt"
	"io"
	"math"
	"strings"

	"foldout/features"
	"foldout/plan/linecheck/trace"
	"foldout/plan/sheet"
)

// Trace writes what a line check found: verdicts first, then figures.
func Trace(w io.Writer, r *trace.Result) error {
	p := newPrinter(w)
	counts := map[string]int{}
	for _, v := range r.Verdicts {
		counts[v.Severity]++
	}
	p.line("%s: %s, %s, %s", p.scr.strong(sheet.Printable(r.Return)), count(len(r.Channels), "output"), count(counts[trace.Fault], "fault"), count(counts[trace.Warning], "warning"))
	for _, s := range []struct{ severity, title string }{{trace.Fault, "Faults"}, {trace.Warning, "Warnings"}, {trace.Note, "Notes"}, {trace.OK, "Fine"}} {
		if counts[s.severity] == 0 {
			continue
		}
		p.head(s.title)
		for _, v := range r.Verdicts {
			if v.Severity == s.severity {
				p.item("  ", v.Text)
			}
		}
	}
	p.head("Outputs")
	p.table(traceRows(r))
	p.head("Loop")
	p.table(loopRows(r))
	if len(r.Moved) > 0 {
		p.head("Since the baseline")
		for _, m := range r.Moved {
			p.item("  ", m)
		}
	}
	p.head("What this check cannot tell")
	for _, c := range r.CannotTell {
		p.item("  - ", c)
	}
	return p.err
}

func traceRows(r *trace.Result) [][]string {
	rows := [][]string{{"", "side", "gain dB", "off", "delay", "THD %", "THD+N %", "noise", "A", "cross dB", "-3 dB from", "to Hz"}}
	for _, c := range r.Channels {
		name := fmt.Sprintf("%d", c.Output)
		switch {
		case c.Alive == nil:
			rows = append(rows, []string{name, "not heard"})
			continue
		case !*c.Alive:
			rows = append(rows, []string{name, "dead"})
			continue
		}
		side := c.Side
		if c.Polarity == "inverted" {
			side = strings.TrimSpace(side + " inv.")
		}
		rows = append(rows, []string{name, side, figure("%+.2f", c.GainDB), figure("%+.2f", c.OffDB), figure("%.2f", c.DelaySamples), figure("%.3f", c.THDPercent),
			figure("%.3f", c.THDNPercent), figure("%.1f", c.NoiseDBFS), figure("%.1f", c.NoiseADBFS), figure("%.0f", c.CrosstalkDB), corner(c.LowHz, "< 20"), corner(c.HighHz, "> 20k")})
	}
	return rows
}

func loopRows(r *trace.Result) [][]string {
	ms := float64(r.LatencySamples) / float64(r.SampleRateHz) * 1000
	hum := "none"
	if r.Hum != nil {
		hum = fmt.Sprintf("%.0f Hz, %.1f dBFS", r.Hum.Hz, float64(r.Hum.DBFS))
	}
	rows := [][]string{
		{"", ""},
		{"latency of the recording", fmt.Sprintf("%s samples (%.2f ms)", figure("%.2f", r.LatencySamples), ms)},
		{"drift of the clock", fmt.Sprintf("%.3f ppm, from %s", r.DriftPPM, r.DriftFrom)},
		{"gain most outputs have", figure("%+.2f dB", r.GainDB)},
		{"noise, flat and A-weighted", fmt.Sprintf("%s, %s dBFS", figure("%.1f", r.NoiseDBFS), figure("%.1f", r.NoiseADBFS))},
		{"hum", hum},
		{"peak of the return", figure("%.1f dBFS", r.PeakDBFS)},
		{"clipped samples", fmt.Sprint(r.ClippedSamples)},
	}
	if r.Together != nil {
		rows = append(rows, []string{"all outputs together", fmt.Sprintf("%s against alone, intermodulation %s", figure("%+.2f dB", r.Together.SummingDB), figure("%.1f dB", r.Together.ResidualDB))})
	}
	return rows
}

func figure(format string, v features.DB) string {
	if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return "-"
	}
	s := fmt.Sprintf(format, float64(v))
	if strings.Trim(s, "+-0. dB") == "" { // nothing is not less than nothing
		s = strings.Replace(s, "-", "+", 1)
	}
	return s
}

func corner(v features.DB, beyond string) string {
	if math.IsNaN(float64(v)) {
		return beyond
	}
	return figure("%.0f", v)
}
