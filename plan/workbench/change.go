package workbench

import (
	"fmt"
	"math"
	"slices"

	"foldout/features"
	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// Change is what one step did to a sheet.
type Change struct {
	Moves   []Move       `json:"moves"`
	Figures []FigureMove `json:"figures"` // those that are not the same as before
	Pairs   []PairMove   `json:"pairs"`   // those that were touched
	Misfits *[2]int      `json:"misfits"` // before and after; null until both are known

	was *Choice
}

// Move is a track that changed its pair.
type Move struct {
	File    string   `json:"file"`
	From    int      `json:"from"` // from 1, 0 for none
	To      int      `json:"to"`
	For     []string `json:"for"`     // what speaks for the new place against the old
	Against []string `json:"against"` // and the other way round
	Nearest int      `json:"nearest"` // the pair nearest to it besides the new one, 0 for none
}

// FigureMove is one figure of merit before and after.
type FigureMove struct {
	Name   string `json:"name"`
	Word   string `json:"word"`
	Before string `json:"before"`
	After  string `json:"after"`
}

// PairMove is one pair before and after. Numbers count from 1.
type PairMove struct {
	Number        int         `json:"number"`
	Name          string      `json:"name"`
	LUFSBefore    features.DB `json:"lufs_before"`
	LUFS          features.DB `json:"lufs"`
	OverlapBefore float64     `json:"overlap_before"`
	Overlap       float64     `json:"overlap"`
	RoomBefore    features.DB `json:"headroom_before_db"` // to the lower of converter and unit; not a number until it is measured
	Room          features.DB `json:"headroom_db"`
}

// The most tracks for which reasons are weighed: after a step, which has to be quick, and between two sheets.
const (
	mostMoves  = 12
	mostWeighs = 60
)

// changeOf is what a step did to a sheet; nil where nothing that shows has changed. Call it with the session's lock held.
func changeOf(s *session, before, after *sheet.Sheet, was, is *Choice) *Change {
	return differ(s, before, after, was, is, len(was.Pairs) == len(is.Pairs), mostMoves)
}

// differ compares two sheets of a session; nil where nothing that shows differs. With alike, the pair of a number is the same
// pair on both, and was has no fewer than is.
func differ(s *session, before, after *sheet.Sheet, was, is *Choice, alike bool, most int) *Change {
	c := &Change{Moves: []Move{}, Figures: []FigureMove{}, Pairs: []PairMove{}, was: was}
	from, to := was.place(), is.place()
	for _, t := range s.tracks {
		f := t.Profile.File
		a, onA := from[f]
		b, onB := to[f]
		if onA == onB && a == b {
			continue
		}
		m := Move{File: f, For: []string{}, Against: []string{}}
		if onA {
			m.From = a + 1
		}
		if onB {
			m.To = b + 1
		}
		c.Moves = append(c.Moves, m)
	}
	if alike && len(c.Moves) <= most {
		c.weigh(s, after, is)
	}
	for _, row := range sheet.ShownRows(&after.Figures) {
		if a, b := row.Text(&before.Figures), row.Text(&after.Figures); a != b {
			c.Figures = append(c.Figures, FigureMove{row.Name, row.Word, a, b})
		}
	}
	if alike {
		for n := range after.Pairs {
			a, b := before.Figures.Pairs[n], after.Figures.Pairs[n]
			if touched(c.Moves, n+1) {
				c.Pairs = append(c.Pairs, PairMove{n + 1, after.Pairs[n].Name, a.LoudnessLUFS, b.LoudnessLUFS, a.RegisterOverlap, b.RegisterOverlap,
					s.roomOf(was.Rig, was.Pairs[n].Tracks), s.roomOf(is.Rig, is.Pairs[n].Tracks)})
			}
		}
	}
	if len(c.Moves)+len(c.Figures) == 0 {
		return nil
	}
	if a, b := s.firm[signature(was)], s.firm[signature(is)]; a != nil && b != nil {
		c.Misfits = &[2]int{astray(a), astray(b)}
	}
	return c
}

func touched(moves []Move, number int) bool {
	return slices.ContainsFunc(moves, func(m Move) bool { return m.From == number || m.To == number })
}

// astray counts the misfits of a grouping that has been judged.
func astray(firm map[string]float64) (n int) {
	for _, sure := range firm {
		if isMisfit(sure) {
			n++
		}
	}
	return n
}

// misfits counts the tracks that are more likely out of place than not, as check does; -1 where that is not known yet.
func misfits(doc *sheet.Sheet) int {
	n := 0
	for _, p := range doc.Pairs {
		for _, t := range p.Tracks {
			if t.Confidence < 0 {
				return -1
			}
			if isMisfit(t.Confidence) {
				n++
			}
		}
	}
	return n
}

func isMisfit(confidence float64) bool { return confidence >= 0 && 1-confidence >= fold.MisfitFrom }

// weigh says of each track that moved what speaks for its new place and what for the old one.
func (c *Change) weigh(s *session, after *sheet.Sheet, is *Choice) {
	p, err := s.prepare(is, fold.Options{Pairs: len(is.Pairs)})
	if err != nil {
		return
	}
	g, err := s.grouping(p, is)
	if err != nil {
		return
	}
	names := namesOf(after)
	for i := range c.Moves {
		m := &c.Moves[i]
		pos := slices.IndexFunc(p.Live, func(t int) bool { return p.Tracks[t].Profile.File == m.File })
		if pos < 0 || m.To == 0 {
			continue
		}
		if next := g.RunnerUp[pos]; next >= 0 {
			m.Nearest = next + 1
		}
		if m.From == 0 || !slices.Contains(g.Labels, m.From-1) {
			continue
		}
		here, there := p.Weigh(g, pos, m.From-1, names)
		m.For, m.Against = texts(here, 3), texts(there, 3)
	}
}

func namesOf(doc *sheet.Sheet) (names []string) {
	for _, p := range doc.Pairs {
		names = append(names, p.Name)
	}
	return names
}

func texts(reasons []sheet.Reason, most int) []string {
	out := []string{}
	for _, r := range reasons[:min(most, len(reasons))] {
		out = append(out, r.Text())
	}
	return out
}

// Argument is all that speaks for and against a track's place.
type Argument struct {
	File   string     `json:"file"`
	Pair   int        `json:"pair"` // from 1
	Next   int        `json:"next"` // the runner-up, 0 for none
	For    []string   `json:"for"`
	Ties   []string   `json:"ties"`
	Listed []string   `json:"listed"` // the reasons on the sheet
	Gains  []string   `json:"against"`
	Places []Nearness `json:"places"` // nearest first
}

// Nearness is how near a track lies to a pair: 1 in its middle, 0 at the farthest of all pairs.
type Nearness struct {
	Pair int     `json:"pair"`
	Near float64 `json:"near"`
}

// argue gives the argument for one track.
func (s *session) argue(file string) (*Argument, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.know([]string{file}); err != nil {
		return nil, err
	}
	a := &Argument{File: file, For: []string{}, Ties: []string{}, Listed: []string{}, Gains: []string{}, Places: []Nearness{}}
	c := s.choice()
	own := c.where(file)
	if own < 0 {
		return a, nil
	}
	p, err := s.prepare(c, fold.Options{Pairs: len(c.Pairs)})
	if err != nil {
		return nil, err
	}
	g, err := s.grouping(p, c)
	if err != nil {
		return nil, err
	}
	pos := slices.IndexFunc(p.Live, func(t int) bool { return p.Tracks[t].Profile.File == file })
	if pos < 0 {
		return nil, fmt.Errorf("%s has no sound", file)
	}
	a.Pair, a.Next = own+1, g.RunnerUp[pos]+1
	for _, t := range s.doc.Pairs[own].Tracks {
		if t.File == file {
			a.Listed = texts(t.Reasons, len(t.Reasons))
		}
	}
	a.Ties = texts(p.TieReasons(p.Live[pos]), 4)
	if a.Next > 0 {
		here, there := p.Weigh(g, pos, a.Next-1, namesOf(s.doc))
		a.For, a.Gains = texts(here, 4), texts(there, 4)
	}
	centres := p.Centres(g.Labels, g.Pairs)
	var most float64
	for n := range g.Pairs {
		if d := p.Distance(pos, centres.RawRowView(n)); !math.IsNaN(d) {
			a.Places = append(a.Places, Nearness{n + 1, d})
			most = max(most, d)
		}
	}
	slices.SortFunc(a.Places, func(x, y Nearness) int {
		if x.Near < y.Near {
			return -1
		}
		return 1
	})
	for i := range a.Places {
		a.Places[i].Near = 1 - a.Places[i].Near/max(most, 1e-9)
	}
	return a, nil
}
