package report

import (
	"fmt"

	"foldout/plan/sheet"
)

// checkView is the judgement of a manual sheet: its pairs as lanes, with what is out of place on them.
type checkView struct {
	Sheet    string
	Lanes    []verdictView
	Parted   []named
	Missing  []string
	Unknown  []string
	Aside    []named
	Praise   []string
	Notes    []string
	Heads    []string
	Figures  []figureView
	Doubtful int
	Misfits  int
}

type verdictView struct {
	badge
	Verdict, Text, Holds string
	Tracks               int
	Moves                []moveView // misfits first, then those worth a look
}

type moveView struct {
	Number  int // by which check --take calls it, from 1; 0 for those worth a look
	Name    string
	To      badge
	Sure    string
	Doubt   bool // only worth a look
	Why     string
	More    []string
	Gain    string
	Percent string
}

type figureView struct {
	Name   string
	Values []string
}

func checkOf(r *sheet.Judgement) *checkView {
	v := &checkView{Sheet: plain(r.Sheet), Misfits: len(r.Misfits), Doubtful: len(r.Doubtful), Heads: []string{"this sheet", "with the moves", "our own fold"}}
	for n, p := range r.Pairs {
		v.Lanes = append(v.Lanes, verdictView{badge: badgeOf(n+1, p.Name), Verdict: p.Verdict, Text: plain(p.Text), Holds: plain(p.Holds), Tracks: p.Tracks})
	}
	for k, list := range [][]sheet.Misfit{r.Misfits, r.Doubtful} {
		for n, m := range list {
			if m.On < 1 || m.On > len(v.Lanes) {
				continue
			}
			move := moveView{Name: trackName(m.File), To: badgeOf(max(1, m.Suggested), m.SuggestedName), Sure: percent(m.Certainty), Doubt: k == 1}
			if k == 0 {
				move.Number = n + 1
			}
			for i, reason := range m.Reasons {
				if text := typeset(plain(reason.Text())); i == 0 {
					move.Why = text
				} else {
					move.More = append(move.More, text)
				}
			}
			lane := &v.Lanes[m.On-1]
			lane.Moves = append(lane.Moves, move)
		}
	}
	for _, p := range r.Parted {
		v.Parted = append(v.Parted, named{trackName(p.File), typeset(plain(fmt.Sprintf("on pair %d, %s", p.On, p.Text)))})
	}
	for _, a := range r.SetAside {
		v.Aside = append(v.Aside, named{trackName(a.File), plain(a.Reason)})
	}
	v.Missing, v.Unknown, v.Praise, v.Notes = plains(r.Missing), plains(r.Unknown), plains(r.Praise), plains(r.Notes)
	for _, row := range sheet.ShownRows(&r.Manual, &r.Corrected, &r.Suggested) {
		v.Figures = append(v.Figures, figureView{row.Name, []string{row.Text(&r.Manual), row.Text(&r.Corrected), row.Text(&r.Suggested)}})
	}
	return v
}

func plains(list []string) (out []string) {
	for _, s := range list {
		out = append(out, typeset(plain(s)))
	}
	return out
}
