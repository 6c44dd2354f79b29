package report

import (
	"foldout/plan/glossary"
	"foldout/plan/sheet"
)

// The words that a part of the page uses, as the glossary spells them.
var (
	sheetWords  = []string{"pair", "bus", "role", "confidence", "register", "centroid", "crest factor", "octave bands"}
	levelsWords = []string{"true peak", "vu", "integrated loudness"}
	sweepWords  = []string{"spread within pairs", "register overlap", "loudest pair", "family"}
	checkWords  = []string{"pair", "role", "tie", "misfit"}
)

// measureWords are measures whose name in a reason is not that in the glossary.
var measureWords = map[string]string{"spread": "spectral spread", "heard": "role", "name": "role", "company": "role", "voices": "role"}

// terms are the entries of the glossary that the page needs, in the order of the glossary.
func (p Page) terms() (list []glossary.Term) {
	used := map[string]bool{}
	use := func(words ...string) {
		for _, w := range words {
			if other, ok := measureWords[w]; ok {
				w = other
			}
			used[w] = true
		}
	}
	reasons := func(list []sheet.Reason) {
		for _, r := range list {
			use(r.Measure)
		}
	}
	if p.Sheet != nil {
		use(sheetWords...)
		for _, pair := range p.Sheet.Pairs {
			for _, t := range pair.Tracks {
				reasons(t.Reasons)
			}
		}
	}
	if p.Check != nil {
		use(checkWords...)
		for _, list := range [][]sheet.Misfit{p.Check.Misfits, p.Check.Doubtful} {
			for _, m := range list {
				reasons(m.Reasons)
			}
		}
	}
	if p.Sheet != nil || p.Check != nil {
		for _, row := range sheet.FigureRows {
			use(row.Word)
		}
	}
	if p.Levels != nil {
		use(levelsWords...)
	}
	if p.Sweep != nil {
		use(sweepWords...)
	}
	for _, t := range glossary.Glossary() {
		if used[t.Word] {
			list = append(list, t)
		}
	}
	return list
}
