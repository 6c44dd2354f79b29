package text

import (
	"io"

	"foldout/plan/explain"
	"foldout/plan/glossary"
)

// Glossary writes terms for people.
func Glossary(w io.Writer, terms []glossary.Term) error {
	p := newPrinter(w)
	for i, t := range terms {
		if i > 0 {
			p.line("")
		}
		unit := ""
		if t.Unit != "" {
			unit = ", in " + t.Unit
		}
		p.line("%s%s", p.scr.strong(t.Word), unit)
		p.item("  ", t.Formula)
		p.item("  ", "Read it so: "+t.Reading)
		p.item("  ", p.scr.faint("Source: "+t.Source))
	}
	return p.err
}

// Explanation writes an argument: heads, paragraphs, spectra and tables.
func Explanation(w io.Writer, x *explain.Explanation) error {
	p := newPrinter(w)
	p.line("%s", p.scr.strong(x.Title))
	for _, s := range x.Sections {
		p.head(s.Head)
		for _, t := range s.Paragraphs {
			p.paragraph(t)
		}
		if len(s.Spectrum) > 0 {
			p.spectra(s.Spectrum)
		}
		if len(s.Table) > 0 {
			p.table(s.Table)
		}
	}
	return p.err
}
