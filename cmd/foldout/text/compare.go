package text

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strconv"
	"strings"

	"foldout/features"
	"foldout/features/csvsafe"
	"foldout/plan/printcheck"
	"foldout/plan/sheet"
)

var verdictWords = map[string]string{printcheck.Yes: "true here", printcheck.No: "not here", printcheck.Unknown: "cannot be told"}

// Compare writes what a comparison of mix and print found.
func Compare(w io.Writer, r *printcheck.Result) error {
	p := newPrinter(w)
	p.line("%s against %s: %s of both", p.scr.strong(sheet.Printable(r.Print.Name)), sheet.Printable(r.Mix.Name), clock(r.Levels.DurationS))
	p.item("  ", "Tone: "+r.Words()+".")
	if len(r.Notes) > 0 {
		p.head("To know first")
		for _, n := range r.Notes {
			p.item("  - ", n)
		}
	}
	p.head("The path")
	p.table(pathRows(r))
	p.head("What the trade says, here")
	for _, c := range r.Claims {
		p.item("  ", fmt.Sprintf("%s %s %s", fill(c.Claim, 20), fill(verdictWords[c.Verdict], 15), c.Text))
	}
	p.head("Third octaves, print less mix, gain removed")
	bars(p, r.Bands)
	p.head("Level")
	p.table(levelRows(r))
	p.head("Width")
	p.table(widthRows(r))
	p.head("What the chain added")
	addedRows(p, r)
	if len(r.Events) > 0 {
		p.head("Clicks and dropouts")
		p.table(eventRows(r.Events))
	}
	if len(r.Curve) > 1 {
		p.head("Gain by level")
		p.table(curveRows(r.Curve))
	}
	return p.err
}

func pathRows(r *printcheck.Result) [][]string {
	swapped := "no"
	if r.Swapped {
		swapped = "yes"
	}
	drift := "none"
	if r.DriftPPM != 0 {
		drift = fmt.Sprintf("%+.2f ppm", r.DriftPPM)
	}
	rows := [][]string{
		{"", ""},
		{"delay", fmt.Sprintf("%.2f samples (%.3f ms), %s", r.DelaySamples, r.DelayMS, r.DelayReading)},
		{"gain", fmt.Sprintf("%+.2f dB (left %+.2f, right %+.2f)", r.GainDB, r.Sides[0].GainDB, r.Sides[1].GainDB)},
		{"polarity", r.Polarity},
		{"drift", drift},
		{"sides swapped", swapped},
		{"left by the best linear fit", fmt.Sprintf("%.1f dB of the print", r.LinearResidualDB)},
	}
	return rows
}

// bars draws the difference band by band: a line each, 0 in the middle.
func bars(p *printer, bands []printcheck.Band) {
	const half = 16
	most := 1.0
	for _, b := range bands {
		most = math.Max(most, math.Abs(b.DB))
	}
	step := math.Max(0.1, math.Ceil(most*10/half)/10)
	for _, b := range bands {
		n := int(math.Round(math.Min(half, math.Abs(b.DB)/step)))
		left, right := strings.Repeat(" ", half), ""
		if b.DB < 0 {
			left = strings.Repeat(" ", half-n) + strings.Repeat("▓", n)
		} else {
			right = strings.Repeat("█", n)
		}
		p.line("  %8s  %+6.2f ±%.2f dB  %s│%s", hertzText(b.Hz), tidy(b.DB), b.CIDB, left, right)
	}
	p.line("%s", p.scr.faint(fmt.Sprintf("  a block is %.1f dB; ± is half of the 95 %% interval", step)))
}

// tidy avoids a minus before nought.
func tidy(v float64) float64 {
	if math.Abs(v) < 0.005 {
		return 0
	}
	return v
}

func hertzText(hz float64) string {
	if hz >= 1000 {
		return strconv.FormatFloat(hz/1000, 'g', -1, 64) + " kHz"
	}
	return strconv.FormatFloat(hz, 'g', -1, 64) + " Hz"
}

func levelRows(r *printcheck.Result) [][]string {
	m, q := r.Levels.Mix, r.Levels.Print
	rows := [][]string{{"", "mix", "print", "change"}}
	add := func(name, unit string, a, b features.DB) {
		change := "-"
		if d := float64(b - a); !math.IsNaN(d) && !math.IsInf(d, 0) {
			change = fmt.Sprintf("%+.2f", tidy(d))
		}
		rows = append(rows, []string{name, dash(a) + " " + unit, dash(b) + " " + unit, change})
	}
	add("loudness", "LUFS", m.IntegratedLUFS, q.IntegratedLUFS)
	add("loudness range", "LU", m.LoudnessRangeLU, q.LoudnessRangeLU)
	add("true peak", "dBTP", m.TruePeakDBTP, q.TruePeakDBTP)
	add("crest", "dB", m.CrestDB, q.CrestDB)
	add("peak to loudness", "LU", m.PeakToLoudnessLU, q.PeakToLoudnessLU)
	return rows
}

func dash(v features.DB) string {
	if math.IsInf(float64(v), 0) || math.IsNaN(float64(v)) {
		return "-"
	}
	return fmt.Sprintf("%.2f", float64(v))
}

func widthRows(r *printcheck.Result) [][]string {
	rows := [][]string{{"", "side/mid mix", "print", "correlation mix", "print"}}
	for _, b := range r.Width {
		rows = append(rows, []string{fmt.Sprintf("%.0f to %.0f Hz", b.FromHz, b.ToHz), dash(b.MixSideDB) + " dB", dash(b.PrintSideDB) + " dB",
			fmt.Sprintf("%+.2f", b.MixCorrelation), fmt.Sprintf("%+.2f", b.PrintCorrelation)})
	}
	return rows
}

func addedRows(p *printer, r *printcheck.Result) {
	if n := r.Noise; n != nil {
		p.item("  ", fmt.Sprintf("Noise: at most %.1f dBFS, %.1f dBFS A-weighted (where the mix is at %.0f dBFS, its softest).", n.DBFS, n.DBFSA, n.MixDBFS))
	}
	if h := r.Hum; h != nil {
		p.item("  ", fmt.Sprintf("Hum: %.1f dBFS at %g Hz and its multiples.", h.DBFS, h.Hz))
	} else {
		p.item("  ", "Hum: none found.")
	}
	if h := r.Harm; h != nil {
		p.item("  ", fmt.Sprintf("Harmonics, as a sine at %.1f dBFS would get them: second %.3f ±%.3f %%, third %.3f ±%.3f %%.", h.AtDBFS, h.SecondPercent, h.SecondCIPercent, h.ThirdPercent, h.ThirdCIPercent))
	}
	p.item("  ", fmt.Sprintf("All that is not a filter: %.1f dB of the print.", r.LinearResidualDB))
}

// shownEvents is how many clicks and dropouts the text lists.
const shownEvents = 12

func eventRows(all []printcheck.Event) [][]string {
	rows := [][]string{{"", "mix", "print", "length", "level", "side"}}
	for i, e := range all {
		if i == shownEvents {
			rows = append(rows, []string{fmt.Sprintf("and %d more", len(all)-i)})
			break
		}
		rows = append(rows, []string{e.Kind, clockFine(e.MixS), clockFine(e.PrintS), fmt.Sprintf("%.1f ms", e.LengthMS), fmt.Sprintf("%.1f dBFS", e.LevelDBFS), e.Side})
	}
	return rows
}

func clockFine(s float64) string {
	m := math.Floor(s / 60)
	return fmt.Sprintf("%.0f:%06.3f", m, s-60*m)
}

func curveRows(points []printcheck.CurvePoint) [][]string {
	rows := [][]string{{"level", "gain", "±", "frames"}}
	for _, c := range points {
		rows = append(rows, []string{fmt.Sprintf("%.0f dBFS", c.LevelDBFS), fmt.Sprintf("%+.2f dB", tidy(c.GainDB)), fmt.Sprintf("%.2f", c.CIDB), strconv.Itoa(c.Frames)})
	}
	return rows
}

// Excerpt says what was written to listen to.
func Excerpt(w io.Writer, dir string, e *printcheck.Excerpt) error {
	p := newPrinter(w)
	p.line("%s", "")
	p.item("", fmt.Sprintf("%s: %s from %s of the mix: %s is the mix, %s the print, aligned and as loud (%.2f LUFS, %.3f LU apart).", sheet.Printable(dir), clockFine(e.LengthS), clockFine(e.FromS), printcheck.FileA, printcheck.FileB, e.LoudnessLUFS, tidy(math.Abs(e.MatchLU))))
	p.item("", fmt.Sprintf("%s is the one less the other, lifted by %.0f dB; %s is what the best linear fit leaves, lifted by %.0f dB.", printcheck.FileDifference, e.DifferenceBoostDB, printcheck.FileRest, e.RestBoostDB))
	p.item("", "Next: foldout listen "+sheet.Printable(filepath.ToSlash(dir)))
	return p.err
}

// CompareCSV writes the third octaves as a table for machines.
func CompareCSV(w io.Writer, r *printcheck.Result) error {
	rows := [][]string{{"hz", "db", "ci_db", "level_db", "coherence"}}
	number := func(v float64) string { return strconv.FormatFloat(v, 'f', 4, 64) }
	for _, b := range r.Bands {
		rows = append(rows, []string{strconv.FormatFloat(b.Hz, 'g', -1, 64), number(b.DB), number(b.CIDB), number(b.LevelDB), number(b.Coherence)})
	}
	return csvsafe.Write(w, rows)
}
