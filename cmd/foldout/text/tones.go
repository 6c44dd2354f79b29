package text

import (
	"fmt"
	"io"

	"foldout/plan/linecheck/tones"
	"foldout/plan/sheet"
)

// TonesDocument is what tones prints.
type TonesDocument struct {
	Folder string `json:"folder"`
	*tones.Plan
	Seconds  float64       `json:"seconds"`
	Files    []string      `json:"files"`
	Levels   []tones.Level `json:"levels"`
	Cautions []string      `json:"cautions"`
	HowTo    []string      `json:"how_to"`
}

// NewTonesDocument gathers it.
func NewTonesDocument(p *tones.Plan, folder string) *TonesDocument {
	return &TonesDocument{Folder: folder, Plan: p, Seconds: p.Program().Seconds(), Files: p.Files(), Levels: p.Levels(), Cautions: tones.Cautions, HowTo: p.HowTo()}
}

// Tones writes what was made, and how to run the check. The cautions have been said before the work.
func Tones(w io.Writer, d *TonesDocument) error {
	p := newPrinter(w)
	p.line("%s of %s for %s in %s", count(len(d.Files), "file"), clock(d.Seconds), count(len(d.Sends), "output"), sheet.Printable(d.Folder))
	p.head("Levels")
	rows := [][]string{{"", "dBFS", "dBu", "peak dBFS"}}
	for _, l := range d.Levels {
		rows = append(rows, []string{l.What, fmt.Sprintf("%.1f", l.DBFS), fmt.Sprintf("%+.1f", l.DBu), fmt.Sprintf("%.1f", l.PeakDBFS)})
	}
	p.table(rows)
	if unlike := d.Unlike(); unlike != "" {
		p.paragraph(unlike)
	}
	p.head("How to run the check")
	for n, s := range d.HowTo {
		p.item(fmt.Sprintf("  %d. ", n+1), s)
	}
	p.head("Before you play anything")
	p.paragraph(fmt.Sprintf("Monitors off, headphones away, never through loudspeakers, the first run 20 dB down. All cautions: %s in the same folder.", tones.CautionsFile))
	return p.err
}
