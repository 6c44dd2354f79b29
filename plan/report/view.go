package report

import (
	"fmt"
	"html/template"
	"strings"

	"foldout/plan/glossary"
	"foldout/plan/patch"
	"foldout/plan/sheet"
)

// view is all the template needs, in the order of the page.
type view struct {
	Title     string
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
	Glossary  []glossary.Term
	Hatches   []int
}

type named struct{ Name, Text string }

type patchView struct {
	Rig      string
	Drawing  template.HTML // from package patch, which escapes
	Cables   []patch.Cable
	Notes    []string
	Cautions []string
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
		v.Title = plain(p.Sweep.Title)
		v.Question = fmt.Sprintf("How many stereo pairs are worth their outputs for the %s of %s?", count(p.Sweep.Tracks, "track"), v.Title)
		if p.Sheet == nil { // then the advice is the answer
			v.Answer, v.Sweep.Advice = sentences(v.Sweep.Advice), ""
		}
	}
	if p.Levels != nil {
		v.Title = plain(p.Levels.Title)
		v.Levels = levelsOf(p.Levels)
		v.Question = fmt.Sprintf("How loud do the pairs of %s reach %s?", v.Title, plain(p.Levels.Unit))
		v.Answer = []string{levelsLine(v.Levels)}
	}
	if p.Patch != nil {
		v.Patch = patchOf(p.Patch)
		if p.Sheet == nil && p.Levels == nil {
			v.Title = plain(p.Patch.Title)
			v.Question = fmt.Sprintf("How is %s plugged into %s?", v.Title, plain(p.Patch.Unit))
			v.Answer = []string{fmt.Sprintf("%s, %s of cable, one way back.", count(len(p.Patch.Lanes), "pair"), count(len(p.Patch.Cables), "kind"))}
		}
	}
	if p.Sheet != nil {
		v.Title = plain(p.Sheet.Title)
		v.sheet(p.Sheet)
		if p.Patch != nil {
			v.plug(p.Patch)
		}
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
		v.Title = plain(p.Check.Title)
		v.Check = checkOf(p.Check)
		v.Question, v.Answer = checkAnswer(p.Check)
	}
	v.Glossary = p.terms()
	return v, nil
}

// plug gives the lanes the outputs they really leave by.
func (v *view) plug(p *patch.Patch) {
	boxes := map[string]bool{}
	for _, l := range p.Lanes {
		boxes[l.Interface] = true
	}
	for _, l := range p.Lanes {
		if l.Number > len(v.Lanes) {
			continue
		}
		lane := &v.Lanes[l.Number-1]
		lane.Outputs = [2]int{l.Lines[0].Output, l.Lines[1].Output}
		lane.Inputs = fmt.Sprintf("inputs %d/%d", l.Lines[0].SummingInput, l.Lines[1].SummingInput)
		if lane.Interface = ""; len(boxes) > 1 {
			lane.Interface = plain(l.Interface)
		}
	}
}

func (v *view) sheet(s *sheet.Sheet) {
	v.Lanes = lanes(s)
	v.Field = field(s)
	v.Question, v.Answer = sheetAnswer(s, v.Lanes)
	for _, a := range s.SetAside {
		v.Aside = append(v.Aside, named{trackName(a.File), plain(a.Reason)})
	}
	for _, w := range s.Warnings {
		v.Warnings = append(v.Warnings, typeset(plain(w)))
	}
	for _, row := range sheet.ShownRows(&s.Figures) {
		v.Figures = append(v.Figures, named{row.Name, row.Text(&s.Figures)})
	}
	v.Settings = settings(s)
}

// settings says how the sheet can be made again.
func settings(s *sheet.Sheet) string {
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
	v := &patchView{Rig: plain(p.Rig), Drawing: template.HTML(p.Drawing()), Cables: p.Cables, Cautions: p.Cautions}
	for _, n := range p.Notes {
		v.Notes = append(v.Notes, typeset(plain(n)))
	}
	return v
}
