package report

import (
	"fmt"
	"html/template"
	"strings"

	"foldout/plan"
	"foldout/plan/patch"
)

// view is all the template needs, in the order of the page.
type view struct {
	Title     string
	Kind      string
	Question  string
	Answer    []string
	Registers []register
	Lanes     []laneView
	Field     *fieldView
	Check     *checkView
	Levels    *levelsView
	Patch     *patchView
	Sweep     *sweepView
	Aside     []named
	Warnings  []string
	Figures   []named
	Settings  string
	Cautions  []string
	Hatches   []int
}

type named struct{ Name, Text string }

type patchView struct {
	Rig     string
	Drawing template.HTML // from package patch, which escapes
	Cables  []patch.Cable
	Lines   []lineView
	Notes   []string
}

// lineView is one line of the plug list.
type lineView struct {
	badge
	Side, From, To, Label string
}

func (p Page) view() (*view, error) {
	if p.Sheet == nil && p.Check == nil && p.Levels == nil && p.Patch == nil && p.Sweep == nil {
		return nil, ErrEmpty
	}
	v := &view{Registers: registers, Cautions: patch.Cautions}
	for h := range hues {
		v.Hatches = append(v.Hatches, h)
	}
	for _, w := range p.Warnings {
		v.Warnings = append(v.Warnings, typeset(plain(w)))
	}
	if p.Sweep != nil {
		here := 0
		if p.Sheet != nil {
			here = len(p.Sheet.Pairs)
		}
		var err error
		if v.Sweep, err = sweepOf(p.Sweep, here); err != nil {
			return nil, err
		}
		v.Title, v.Kind = plain(p.Sweep.Title), "sweep"
		v.Question = fmt.Sprintf("How many stereo pairs are worth their outputs for the %s of %s?", count(p.Sweep.Tracks, "track"), v.Title)
		v.Answer = []string{v.Sweep.Advice}
	}
	if p.Levels != nil {
		v.Title, v.Kind = plain(p.Levels.Title), "levels"
		v.Levels = levelsOf(p.Levels)
		v.Question = fmt.Sprintf("How loud do the pairs of %s reach %s?", v.Title, plain(p.Levels.Unit))
		v.Answer = []string{levelsLine(v.Levels)}
	}
	if p.Patch != nil {
		v.Patch = patchOf(p.Patch)
		if p.Sheet == nil && p.Levels == nil {
			v.Title, v.Kind = plain(p.Patch.Title), "patch"
			v.Question = fmt.Sprintf("How is %s plugged into %s?", v.Title, plain(p.Patch.Unit))
			v.Answer = []string{fmt.Sprintf("%s, %s of cable, one way back.", count(len(p.Patch.Lanes), "pair"), count(len(p.Patch.Cables), "kind"))}
		}
	}
	if p.Sheet != nil {
		v.Title, v.Kind = plain(p.Sheet.Title), "sheet"
		v.sheet(p.Sheet)
		if v.Levels != nil {
			v.Answer = append(v.Answer[:2], levelsLine(v.Levels)+" "+v.Answer[2])
			for i := range v.Levels.Loads {
				if n := v.Levels.Loads[i].Number; n <= len(v.Lanes) {
					v.Lanes[n-1].Load = &v.Levels.Loads[i]
				}
			}
		}
	}
	if p.Check != nil {
		v.Title, v.Kind = plain(p.Check.Title), "check"
		v.Check = checkOf(p.Check)
		v.Question, v.Answer = checkAnswer(p.Check)
	}
	return v, nil
}

func (v *view) sheet(s *plan.Sheet) {
	v.Lanes = lanes(s)
	v.Field = field(s)
	v.Question, v.Answer = sheetAnswer(s, v.Lanes)
	for _, a := range s.SetAside {
		v.Aside = append(v.Aside, named{trackName(a.File), plain(a.Reason)})
	}
	for _, w := range s.Warnings {
		v.Warnings = append(v.Warnings, typeset(plain(w)))
	}
	for _, row := range plan.FigureRows {
		v.Figures = append(v.Figures, named{row.Name, row.Text(&s.Figures)})
	}
	v.Settings = settings(s)
}

// settings says how the sheet can be made again.
func settings(s *plan.Sheet) string {
	parts := []string{count(s.Settings.Pairs, "pair"), fmt.Sprintf("seed %d", s.Settings.Seed)}
	if s.Settings.EarsOnly {
		parts = append(parts, "names ignored")
	}
	for _, l := range []struct {
		what string
		list []string
	}{{"tied", s.Settings.Tie}, {"kept apart", s.Settings.Apart}, {"pinned", s.Settings.Pin}} {
		if len(l.list) > 0 {
			parts = append(parts, l.what+": "+plain(strings.Join(l.list, "; ")))
		}
	}
	if s.Settings.Version != "" {
		parts = append(parts, "foldout "+plain(s.Settings.Version))
	}
	return strings.Join(parts, ", ")
}

func patchOf(p *patch.Patch) *patchView {
	v := &patchView{Rig: plain(p.Rig), Drawing: template.HTML(p.Drawing()), Cables: p.Cables}
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			v.Lines = append(v.Lines, lineView{badge: badgeOf(l.Number, l.Name), Side: line.Side, Label: plain(line.Label),
				From: plain(fmt.Sprintf("%s out %d, %s, %s", l.Interface, line.Output, line.From, line.From.Contacts())),
				To:   plain(fmt.Sprintf("%s in %d, %s, %s", p.Unit, line.SummingInput, line.To, line.To.Contacts()))})
		}
	}
	for _, n := range p.Notes {
		v.Notes = append(v.Notes, typeset(plain(n)))
	}
	return v
}
