package text

import (
	"fmt"
	"io"
	"math"
	"path/filepath"
	"strings"

	"foldout/plan/sheet"
	"foldout/plan/stems"
)

// StemsDocument is what stems prints as JSON.
type StemsDocument struct {
	Schema int    `json:"schema"`
	Pan    string `json:"pan"`
	*stems.Written
	Null *stems.Null `json:"null_test,omitempty"`
}

// Stems writes which files were made, and how the null test ended.
func Stems(w io.Writer, doc *StemsDocument) error {
	p := newPrinter(w)
	seconds := float64(doc.Frames) / float64(doc.RateHz)
	what := fmt.Sprintf("%s of %s at %g kHz, %s, mono tracks at %s", count(len(doc.Stems), "file"), clock(seconds), float64(doc.RateHz)/1000, doc.Encoding, doc.Pan)
	if doc.GainDB != 0 {
		what += fmt.Sprintf(", all at %+g dB", doc.GainDB)
	}
	p.item("", what)
	rows := [][]string{{"", "", "", ""}} // no heads: each cell says what it is
	for _, s := range doc.Stems {
		peak := "silent"
		if !math.IsInf(float64(s.PeakDBFS), -1) {
			peak = fmt.Sprintf("peak %+.2f dBFS", float64(s.PeakDBFS))
		}
		how := "as it is, nothing had to be rounded"
		switch {
		case s.Dithered:
			how = "with dither"
		case doc.Encoding == "32-bit float":
			how = ""
		}
		if s.GainDB != doc.GainDB {
			how = strings.TrimPrefix(how+fmt.Sprintf(", at %+g dB", s.GainDB), ", ")
		}
		rows = append(rows, []string{sheet.Printable(filepath.Base(s.Path)), count(s.Tracks, "track"), peak, how})
	}
	p.blocks(rows)
	var b strings.Builder
	section(&b, "Notes", doc.Notes)
	if doc.Null != nil {
		writeNull(&b, doc.Null)
	}
	if p.err == nil {
		_, p.err = io.WriteString(w, wrapLines(b.String(), p.scr.width))
	}
	return p.err
}

func writeNull(b *strings.Builder, n *stems.Null) {
	left := "nothing at all"
	if !math.IsInf(float64(n.ResidualRMSDBFS), -1) {
		left = fmt.Sprintf("%.1f dBFS rms, %.1f dBFS peak", float64(n.ResidualRMSDBFS), float64(n.ResidualPeakDBFS))
	}
	fmt.Fprintf(b, "\nSum of the files minus %s: %s is left (a null is below %.0f dBFS rms).\n", sheet.Printable(filepath.Base(n.Mix)), left, n.LimitDBFS)
	if n.Nulls {
		b.WriteString("They cancel: the files add up to the mix.\n")
	} else {
		fmt.Fprintf(b, "They do not cancel. Most likely: %s.\n", sheet.Printable(n.Reason.Text))
	}
	for _, note := range n.Notes {
		fmt.Fprintf(b, "  - %s\n", sheet.Printable(note))
	}
}
