package check

import (
	"fmt"
	"path/filepath"
	"slices"

	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// Adoption says how a grouping made by hand becomes a sheet.
type Adoption struct {
	Table *sheet.Manual
	Name  string   // of the table's file
	Fill  bool     // tracks that the table does not place go where they fit best; else the session must have set them aside
	Take  []int    // misfits to move, by their number in the judgement, from 1
	All   bool     // move all misfits
	Outs  [][2]int // line outputs of the pairs, nil for the plain ones
}

// Adopt makes a full sheet of a grouping made by hand: with reasons, buses, figures, and what speaks against a place as
// remarks. The session must have been prepared with the table (fold.Options.Table). Nothing is moved but what Take or All ask for.
func Adopt(s *fold.Session, a Adoption) (*sheet.Sheet, *sheet.Judgement, error) {
	judged, err := Judge(s, a.Table, a.Name)
	if err != nil {
		return nil, nil, err
	}
	placed := s.Place(a.Table)
	labels := slices.Clone(placed.Labels)
	if len(placed.Missing) > 0 {
		if !a.Fill {
			return nil, nil, fmt.Errorf("%s leaves out %s; give each a pair, or let them be placed", a.Name, list(placed.Missing))
		}
		s.Settle(labels, placed.Pairs)
	}
	moved, err := a.moves(judged)
	if err != nil {
		return nil, nil, err
	}
	at := map[string]int{}
	for p, i := range s.Live {
		at[s.Tracks[i].Profile.File] = p
	}
	for _, m := range moved {
		labels[at[m.File]] = m.Suggested - 1
	}
	g := s.ByHand(labels, placed.Pairs, slices.Clone(a.Table.Names))
	s.Judge(g)
	doc, err := s.Sheet(g)
	if err != nil {
		return nil, nil, err
	}
	for n := range a.Outs {
		if n < len(doc.Pairs) {
			doc.Pairs[n].Outputs = a.Outs[n]
		}
	}
	doc.Settings.Pairs, doc.Settings.Adopted = placed.Pairs, filepath.Base(a.Name)
	keepBuses(doc, at, placed.Buses())
	for n := range doc.Pairs {
		for k := range doc.Pairs[n].Tracks {
			t := &doc.Pairs[n].Tracks[k]
			t.Place = placed.Placing(at[t.File])
		}
	}
	doc.Remarks, doc.Notes = remarks(judged, moved), a.Table.Kept
	if left := leftOut(s); len(left) > 0 {
		doc.Warnings = append(doc.Warnings, fmt.Sprintf("%s leaves out %s: set aside; --fill places such tracks where they fit best", filepath.Base(a.Name), list(left)))
	}
	for _, note := range judged.Notes {
		doc.Warnings = append(doc.Warnings, filepath.Base(a.Name)+": "+note)
	}
	files := make([]string, len(s.Tracks))
	for i, t := range s.Tracks {
		files[i] = t.Profile.File
	}
	find := sheet.NewFinder(files)
	for _, u := range judged.Unknown {
		if find.Near(u) == "" { // else a note asks what was meant
			doc.Warnings = append(doc.Warnings, fmt.Sprintf("%s names %s, which is not in the folder", filepath.Base(a.Name), u))
		}
	}
	return doc, judged, nil
}

// leftOut lists the tracks that are set aside because the table does not place them.
func leftOut(s *fold.Session) (files []string) {
	for _, a := range s.Aside {
		if s.LeftOut(a) {
			files = append(files, a.File)
		}
	}
	return files
}

// moves are the misfits to be moved.
func (a *Adoption) moves(judged *sheet.Judgement) ([]sheet.Misfit, error) {
	if a.All {
		return judged.Misfits, nil
	}
	var moved []sheet.Misfit
	for _, n := range a.Take {
		if n < 1 || n > len(judged.Misfits) {
			return nil, fmt.Errorf("move %d: the sheet has %s", n, sheet.Plural(len(judged.Misfits), "misfit", "misfits"))
		}
		moved = append(moved, judged.Misfits[n-1])
	}
	return moved, nil
}

// keepBuses gives each track the bus that the table gives it.
func keepBuses(doc *sheet.Sheet, at map[string]int, buses []string) {
	for n := range doc.Pairs {
		pair := &doc.Pairs[n]
		changed := false
		for k := range pair.Tracks {
			if b := buses[at[pair.Tracks[k].File]]; b != "" {
				pair.Tracks[k].Bus, changed = b, true
			}
		}
		if !changed {
			continue
		}
		pair.Buses = pair.Buses[:0]
		for _, t := range pair.Tracks {
			if !slices.Contains(pair.Buses, t.Bus) {
				pair.Buses = append(pair.Buses, t.Bus)
			}
		}
		slices.SortStableFunc(pair.Tracks, func(a, b sheet.Placement) int {
			return slices.Index(pair.Buses, a.Bus) - slices.Index(pair.Buses, b.Bus)
		})
	}
}

// remarks say what speaks against the places that were kept.
func remarks(judged *sheet.Judgement, moved []sheet.Misfit) []sheet.Remark {
	out := []sheet.Remark{}
	for _, m := range judged.Misfits {
		if slices.ContainsFunc(moved, func(x sheet.Misfit) bool { return x.File == m.File }) {
			continue
		}
		text := fmt.Sprintf("would sit better on %s (%.0f %%)", pairName(m.Suggested, m.SuggestedName), 100*m.Certainty)
		if len(m.Reasons) > 0 {
			text += ": " + m.Reasons[0].Text()
		}
		out = append(out, sheet.Remark{File: m.File, Text: text})
	}
	for _, p := range judged.Parted {
		out = append(out, sheet.Remark{File: p.File, Text: p.Text})
	}
	return out
}

func pairName(number int, name string) string {
	if name == "" {
		return fmt.Sprintf("pair %d", number)
	}
	return fmt.Sprintf("pair %d (%s)", number, name)
}

// list names some files and counts the rest.
func list(files []string) string {
	const most = 4
	text := ""
	for n, f := range files {
		if n == most {
			return fmt.Sprintf("%s and %d more", text, len(files)-most)
		}
		if n > 0 {
			text += ", "
		}
		text += f
	}
	return text
}
