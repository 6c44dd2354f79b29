// Package page draws a comparison of mix and print as a page to look at, to print and to keep: what changed in words, the
// claims of the trade, third octaves with their confidence, gain by level, what no filter explains, levels and width.
//
// In goes a printcheck.Result, out comes one HTML file without scripts and without anything from outside, in the look of
// the report. Curves are SVG (package curves).
package page

import (
	"embed"
	"fmt"
	"html/template"
	"io"
	"math"
	"strings"

	"foldout/features"
	"foldout/plan/curves"
	"foldout/plan/printcheck"
	"foldout/plan/report"
)

//go:embed page.tmpl page.css
var files embed.FS

var page = template.Must(template.Must(template.New("page.tmpl").Funcs(template.FuncMap{
	"f": figure, "n": func(format string, v float64) string { return figure(format, features.DB(v)) }, "clock": clock, "plain": plain, "signs": curves.Signs,
}).Parse(curves.Template)).ParseFS(files, "page.tmpl"))

type view struct {
	*printcheck.Result
	CSS       template.CSS
	Summary   []string
	Claimed   []claimed
	Tone      *curves.Chart
	Level     *curves.Chart // nil: too little to draw
	Rest      *curves.Chart
	Rows      []row
	MoreClaps int // events beyond those shown
}

type claimed struct {
	printcheck.Claim
	Class, Says string
}

type row struct{ Name, Unit, Mix, Print, Change string }

// shownEvents is how many clicks and dropouts the page lists.
const shownEvents = 40

// Write writes the page of a result.
func Write(w io.Writer, r *printcheck.Result) error {
	css, err := report.Styles()
	if err != nil {
		return err
	}
	own, err := files.ReadFile("page.css")
	if err != nil {
		return err
	}
	v := view{Result: r, CSS: css + curves.CSS() + template.CSS(own), Summary: summary(r), Tone: tone(r), Level: level(r), Rest: rest(r), Rows: rows(r)}
	for _, c := range r.Claims {
		v.Claimed = append(v.Claimed, claimed{c, map[string]string{printcheck.Yes: "ok", printcheck.No: "fault", printcheck.Unknown: "note"}[c.Verdict],
			map[string]string{printcheck.Yes: "true here", printcheck.No: "not here", printcheck.Unknown: "cannot be told"}[c.Verdict]})
	}
	if n := len(r.Events); n > shownEvents {
		short := *r
		short.Events, v.MoreClaps = r.Events[:shownEvents], n-shownEvents
		v.Result = &short
	}
	var b strings.Builder
	if err := page.Execute(&b, v); err != nil {
		return fmt.Errorf("the page cannot be written: %w", err)
	}
	_, err = io.WriteString(w, b.String())
	return err
}

func summary(r *printcheck.Result) []string {
	out := []string{sentence(r.Words())}
	out = append(out, fmt.Sprintf("%s of both. A linear filter explains all of the print but %s dB of its energy.", clock(r.Levels.DurationS), figure("%.1f", features.DB(r.LinearResidualDB))))
	yes, no, unknown := 0, 0, 0
	for _, c := range r.Claims {
		switch c.Verdict {
		case printcheck.Yes:
			yes++
		case printcheck.No:
			no++
		default:
			unknown++
		}
	}
	return append(out, fmt.Sprintf("Of %d claims of the trade %d are true here, %d are not, %d cannot be told. Whether any of it can be heard, foldout listen tells.", len(r.Claims), yes, no, unknown))
}

// tone draws the third octaves with their interval of confidence.
func tone(r *printcheck.Result) *curves.Chart {
	var hz, db, low, high []float64
	for _, b := range r.Bands {
		hz, db, low, high = append(hz, b.Hz), append(db, b.DB), append(low, b.DB-b.CIDB), append(high, b.DB+b.CIDB)
	}
	limit := curves.Reach(db, 1, 2, 3, 6, 12, 24, 48)
	c := curves.Frequency("Third octaves, print less mix, gain removed, with the 95 % interval", "dB; frequency in Hz", -limit, limit, limit/4)
	c.Between(hz, low, high)
	c.Add("", 0, hz, db)
	return c
}

// level draws the gain by level: flat for a chain that only filters, falling to the right for one that compresses.
func level(r *printcheck.Result) *curves.Chart {
	if len(r.Curve) < 2 {
		return nil
	}
	var at, db, low, high []float64
	for _, p := range r.Curve {
		at, db, low, high = append(at, p.LevelDBFS), append(db, p.GainDB), append(low, p.GainDB-p.CIDB), append(high, p.GainDB+p.CIDB)
	}
	limit := curves.Reach(db, 1, 2, 3, 6, 12, 24)
	c := curves.Linear("Gain by level, beyond that of the linear path, with the 95 % interval", "dB; level of 43 ms in dBFS", 10*math.Floor(at[0]/10), 10*math.Ceil(at[len(at)-1]/10), 10, -limit, limit, limit/4)
	c.Between(at, low, high)
	c.Add("", 0, at, db)
	return c
}

// rest draws what no linear path explains, band by band.
func rest(r *printcheck.Result) *curves.Chart {
	const lowest = -80.0
	var hz, db []float64
	for _, b := range r.Bands {
		hz, db = append(hz, b.Hz), append(db, 10*math.Log10(max(1-b.Coherence, 1e-8)))
	}
	c := curves.Frequency("What no linear path explains, of the print's power in each third octave: noise, hum, harmonics, compression", "dB; frequency in Hz", lowest, 0, 20)
	c.Add("", 1, hz, db)
	return c
}

func rows(r *printcheck.Result) (out []row) {
	m, p := r.Levels.Mix, r.Levels.Print
	for _, l := range []struct {
		name, unit string
		mix, print features.DB
	}{
		{"Loudness", "LUFS", m.IntegratedLUFS, p.IntegratedLUFS}, {"Loudness range", "LU", m.LoudnessRangeLU, p.LoudnessRangeLU}, {"True peak", "dBTP", m.TruePeakDBTP, p.TruePeakDBTP},
		{"Crest factor", "dB", m.CrestDB, p.CrestDB}, {"Peak to loudness", "LU", m.PeakToLoudnessLU, p.PeakToLoudnessLU},
	} {
		out = append(out, row{l.name, l.unit, figure("%.2f", l.mix), figure("%.2f", l.print), figure("%+.2f", l.print-l.mix)})
	}
	return out
}

// figure writes a number; what does not exist is a dash.
func figure(format string, v features.DB) string {
	if math.IsNaN(float64(v)) || math.IsInf(float64(v), 0) {
		return "–"
	}
	s := fmt.Sprintf(format, float64(v))
	if strings.Trim(s, "+-0.") == "" { // nothing is not less than nothing
		s = strings.TrimLeft(s, "+-")
	}
	return strings.ReplaceAll(s, "-", "−")
}

func clock(seconds float64) string {
	m := math.Floor(seconds / 60)
	return fmt.Sprintf("%.0f:%06.3f", m, seconds-60*m)
}

func sentence(s string) string {
	if s == "" {
		return s
	}
	return strings.ToUpper(s[:1]) + s[1:] + "."
}

// plain keeps control characters and turns of direction out of the page; HTML is the template's business.
func plain(s string) string {
	return strings.Map(func(r rune) rune {
		if r >= '\u200e' && r <= '\u200f' || r >= '\u202a' && r <= '\u202e' || r >= '\u2066' && r <= '\u2069' || r < ' ' || r >= 0x7f && r < 0xa0 || r == 0xfffe || r == 0xffff {
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}
