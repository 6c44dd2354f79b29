package explain

import (
	"fmt"
	"strings"

	"foldout/plan/sheet"
)

// ofPair argues for one pair.
func (e *explaining) ofPair(q int) (*Explanation, error) {
	pair := &e.sheet.Pairs[q]
	x := &Explanation{Title: fmt.Sprintf("Pair %d, %s: %s", q+1, pair.Name, strings.Replace(e.sheet.OutputsOf(q), fmt.Sprintf("outputs %d/", pair.Outputs[0]), fmt.Sprintf("outputs %d and ", pair.Outputs[0]), 1))}
	members := e.on(q)
	if len(members) == 0 {
		x.Sections = append(x.Sections, Section{Head: "Free", Paragraphs: []string{"No track uses this pair. " + sentence(pair.Reason)}})
		return x, nil
	}
	what := Section{Head: "What it holds", Paragraphs: []string{sentence(e.list(members))}}
	if text := e.argument(q); text != "" {
		what.Paragraphs = append(what.Paragraphs, text)
	}
	what.Paragraphs = append(what.Paragraphs, e.habitsOf(members)...)
	what.Paragraphs = append(what.Paragraphs, e.extremes(q, members)...)
	x.Sections = append(x.Sections, what)

	f, err := e.figures()
	if err != nil {
		return nil, err
	}
	x.Sections = append(x.Sections, e.figuresOfPair(&f.Pairs[q]))

	look := Section{Head: "Its sound against the others'", Table: [][]string{{""}}}
	for l := range e.names {
		if tracks := e.on(l); len(tracks) > 0 {
			look.Spectrum = append(look.Spectrum, e.spectrumOf(fmt.Sprintf("pair %d, %s", l+1, e.names[l]), tracks))
			look.Table[0] = append(look.Table[0], fmt.Sprintf("pair %d", l+1))
		}
	}
	for _, r := range envelopeRows {
		row := []string{r.name}
		for l := range e.names {
			if tracks := e.on(l); len(tracks) > 0 {
				row = append(row, e.medianText(tracks, r.value, r.text))
			}
		}
		look.Table = append(look.Table, row)
	}
	x.Sections = append(x.Sections, look)
	more, err := e.onePairMore(-1)
	if err != nil {
		return nil, err
	}
	x.Sections = append(x.Sections, more)
	return x, nil
}

// figures are those of the sheet as the session stands, with the loudness that the sheet's own figures hold.
func (e *explaining) figures() (sheet.Figures, error) {
	f, err := e.FiguresOf(e.labels, len(e.names))
	if len(e.sheet.Figures.Pairs) == len(f.Pairs) {
		f.LevelSpreadDB, f.LoudestPairDB = e.sheet.Figures.LevelSpreadDB, e.sheet.Figures.LoudestPairDB
		for n := range f.Pairs {
			f.Pairs[n].LoudnessLUFS = e.sheet.Figures.Pairs[n].LoudnessLUFS
		}
	}
	return f, err
}

// extremes names the member nearest to the pair's middle and the one farthest from it.
func (e *explaining) extremes(q int, members []int) []string {
	if len(members) < 3 {
		return nil
	}
	centre := e.Centres(e.labels, len(e.names)).RawRowView(q)
	near, far := members[0], members[0]
	for _, p := range members {
		if e.Distance(p, centre) < e.Distance(near, centre) {
			near = p
		}
		if e.Distance(p, centre) > e.Distance(far, centre) {
			far = p
		}
	}
	return []string{fmt.Sprintf("%s is its most typical track, %s the one farthest from its middle.", sheet.TrackName(e.Tracks[e.Live[near]].Profile.File), sheet.TrackName(e.Tracks[e.Live[far]].Profile.File))}
}

func (e *explaining) figuresOfPair(f *sheet.PairFigures) Section {
	sec := Section{Head: "Its figures"}
	loud := ""
	if sheet.MeasuredLevel(f.LoudnessLUFS) {
		loud = fmt.Sprintf("Its %s add up to %.1f LUFS. ", sheet.Plural(f.Tracks, "track", "tracks"), float64(f.LoudnessLUFS))
	}
	sec.Paragraphs = append(sec.Paragraphs,
		fmt.Sprintf("%sWithin it, %.0f %% of a track's spectrum is covered by the others: that is what has to be balanced inside the pair.", loud, 100*f.RegisterOverlap))
	return sec
}

// whole argues for the sheet.
func (e *explaining) whole() (*Explanation, error) {
	f, err := e.figures()
	if err != nil {
		return nil, err
	}
	x := &Explanation{Title: fmt.Sprintf("%s: %s on %d of %s", e.sheet.Title, sheet.Plural(len(e.Live), "track", "tracks"), f.PairsUsed, sheet.Plural(len(e.names), "pair", "pairs"))}
	idea := Section{Head: "The idea", Paragraphs: []string{
		"A summing unit colours whatever passes through one of its channels together. Tracks that share a pair are balanced against each other, ride together and are driven together. So like goes with like, which is common practice rather than physics (explain --lesson measures what physics there is): tracks of one register and envelope, one role, one performance.",
		"What each track is was read from its name, where the name says something, and heard in its sound: where its energy lies, how it starts and dies away, whether it is tone or noise. Copies, sides and returns were found by comparing the recordings with one another, and stay with what they come from.",
	}}
	x.Sections = append(x.Sections, idea)
	for q, pair := range e.sheet.Pairs {
		sec := Section{Head: fmt.Sprintf("Pair %d, %s", q+1, pair.Name)}
		if members := e.on(q); len(members) > 0 {
			sec.Paragraphs = append(sec.Paragraphs, strings.TrimSpace(sentence(e.list(members))+" "+e.argument(q)))
			sec.Paragraphs = append(sec.Paragraphs, e.habitsOf(members)...)
			sec.Spectrum = []SpectrumLine{e.spectrumOf("", members)}
		} else {
			sec.Paragraphs = append(sec.Paragraphs, "Free. "+sentence(pair.Reason))
		}
		x.Sections = append(x.Sections, sec)
	}
	figures := Section{Head: "Its figures", Table: [][]string{{"", ""}}}
	for _, r := range sheet.ShownRows(&f) {
		figures.Table = append(figures.Table, []string{r.Name, r.Text(&f)})
	}
	x.Sections = append(x.Sections, figures)
	more, err := e.onePairMore(-1)
	if err != nil {
		return nil, err
	}
	x.Sections = append(x.Sections, more)
	return x, nil
}
