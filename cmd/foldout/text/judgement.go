package text

import (
	"fmt"
	"io"

	"foldout/plan/sheet"
)

// Judgement writes what check says of a manual sheet.
func Judgement(w io.Writer, r *sheet.Judgement) error {
	p := newPrinter(w)
	tracks := 0
	for _, v := range r.Pairs {
		tracks += v.Tracks
	}
	p.line("%s: %s, %s on %s; %s", r.Title, r.Sheet, count(tracks, "track"), count(len(r.Pairs), "pair"), misfitCount(len(r.Misfits)))
	if len(r.Praise) > 0 {
		p.head("Right")
		for _, t := range r.Praise {
			p.item("  ", t)
		}
	}
	if len(r.Misfits) > 0 {
		p.head("Out of place")
		p.misfits(r.Misfits, true)
	}
	if len(r.Doubtful) > 0 {
		p.head("Worth a look")
		p.misfits(r.Doubtful, false)
	}
	if len(r.Parted) > 0 {
		p.head("Away from their source")
		for _, t := range r.Parted {
			p.item("  ", fmt.Sprintf("%s (pair %d): %s", t.File, t.On, t.Text))
		}
	}
	p.head("Pairs")
	for n, v := range r.Pairs {
		p.item("  ", fmt.Sprintf("%d %s: %s", n+1, v.Name, v.Text))
		if v.Holds != "" {
			p.item("      ", v.Holds)
		}
	}
	for _, list := range []struct {
		head  string
		items []string
	}{{"On no pair of the sheet", r.Missing}, {"In the sheet, not in the folder", r.Unknown}, {"Notes", r.Notes}} {
		if len(list.items) > 0 {
			p.head(list.head)
			for _, t := range list.items {
				p.item("  ", t)
			}
		}
	}
	p.head("Figures")
	writeFigures(p, []string{"this sheet", "moved", "suggested"}, r.Manual, r.Corrected, r.Suggested)
	return p.err
}

func misfitCount(n int) string {
	switch n {
	case 0:
		return "no misfits"
	case 1:
		return "1 misfit"
	}
	return fmt.Sprintf("%d misfits", n)
}

// misfits lists moves, with the numbers by which --take calls them.
func (p *printer) misfits(list []sheet.Misfit, numbered bool) {
	for n, m := range list {
		number := ""
		if numbered {
			number = fmt.Sprintf("%d. ", n+1)
		}
		p.item("  ", number+fmt.Sprintf("%s: pair %d (%s) -> pair %d (%s), %.0f %% sure", m.File, m.On, m.OnName, m.Suggested, m.SuggestedName, 100*m.Certainty))
		for _, r := range m.Reasons {
			p.item("      ", r.Text())
		}
	}
}
