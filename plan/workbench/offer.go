package workbench

import (
	"errors"
	"fmt"
	"maps"
	"slices"
	"strconv"
	"strings"

	"foldout/plan/fold"
	"foldout/plan/sheet"
)

// offer is a fold that is shown before it is taken.
type offer struct {
	name   string
	choice *Choice
	doc    *sheet.Sheet
}

// Offer is an offer as the page shows it.
type Offer struct {
	ID     string  `json:"id"`
	Name   string  `json:"name"`
	Change *Change `json:"change"`
}

// propose folds anew ("refold") or onto another number of pairs ("pairs"), around what is locked, and keeps the result as
// an offer.
func (s *session) propose(kind string, pairs int) (*Offer, error) {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.choice()
	now := len(c.Pairs)
	var next *Choice
	var name string
	var err error
	switch {
	case kind == "refold":
		next, err = s.fold(c, now)
		name = "folded anew"
	case kind != "pairs":
		return nil, fmt.Errorf("there is no fold called %q", kind)
	case pairs < 1 || pairs > sheet.MaxPairs:
		return nil, fmt.Errorf("%d pairs: want 1 to %d", pairs, sheet.MaxPairs)
	case pairs > now:
		next, err = s.grow(c, pairs)
		name = "grown to " + sheet.Plural(pairs, "pair", "pairs")
	case pairs < now:
		next, err = s.shrink(c, pairs)
		name = "shrunk to " + sheet.Plural(pairs, "pair", "pairs")
	default:
		return nil, fmt.Errorf("there are %d pairs already", pairs)
	}
	if err != nil {
		return nil, plainer(err)
	}
	doc, err := s.write(next)
	if err != nil {
		return nil, err
	}
	id := signature(next) + strconv.Itoa(len(s.offers))
	s.offers[id] = &offer{name, next, doc}
	return &Offer{ID: id, Name: name, Change: changeOf(s, s.doc, doc, c, next)}, nil
}

// plainer takes the flags of the command line out of a message.
func plainer(err error) error {
	if !errors.As(err, new(*fold.OptionError)) {
		return err
	}
	return errors.New(strings.NewReplacer("--tie, --apart and --pin", "what is tied, kept apart and locked", "--tie ", "tied: ", "--apart ", "kept apart: ", "--pin ", "locked: ").Replace(err.Error()))
}

// takeOffer makes an offer the choice.
func (s *session) takeOffer(c *Choice, id string) (string, error) {
	o := s.offers[id]
	if o == nil {
		return "", errors.New("that fold was of another grouping; ask for it anew")
	}
	*c = *o.choice.clone()
	return o.name, nil
}

// around is a choice without its locked pairs: what a new fold is about.
type around struct {
	c       *Choice
	open    []int           // places of the pairs that are not locked
	aside   map[string]bool // tracks of locked pairs
	pairs   int             // that the fold is onto
	session *fold.Session
}

// unlocked readies a fold onto some pairs around what is locked.
func (s *session) unlocked(c *Choice, pairs int) (*around, error) {
	a := &around{c: c, aside: map[string]bool{}, pairs: pairs}
	for n, p := range c.Pairs {
		if !p.Locked {
			a.open = append(a.open, n)
			continue
		}
		a.pairs--
		for _, f := range p.Tracks {
			a.aside[f] = true
		}
	}
	if a.pairs < 1 {
		return nil, errors.New("every pair is locked; unlock one to fold the others")
	}
	opt := fold.Options{Pairs: a.pairs}
	for _, list := range c.Tied {
		if free := a.outside(list); len(free) > 1 {
			opt.Tie = append(opt.Tie, sheet.JoinNames(free))
		}
	}
	for _, list := range c.Apart {
		if free := a.outside(list); len(free) > 1 {
			opt.Apart = append(opt.Apart, sheet.JoinNames(free))
		}
	}
	for j, n := range a.open {
		for _, f := range c.Pairs[n].Tracks {
			if c.Locked[f] && j < a.pairs {
				opt.Pin = append(opt.Pin, fmt.Sprintf("%s=%d", f, j+1))
			}
		}
	}
	var err error
	a.session, err = s.prepareWithout(c, func(f string) bool { return a.aside[f] || c.Aside[f] != "" && s.live[f] }, opt)
	return a, err
}

// outside leaves out the tracks of locked pairs.
func (a *around) outside(list []string) []string {
	return slices.DeleteFunc(slices.Clone(list), func(f string) bool { return a.aside[f] || a.c.Aside[f] != "" })
}

// take makes a choice of what the fold gave. Pairs beyond the old ones stand after them; names stay where keep is set.
func (s *session) take(a *around, g *fold.Grouping, keep bool) *Choice {
	out := a.c.clone()
	for len(a.open) < a.pairs {
		out.Pairs = append(out.Pairs, Lane{})
		a.open = append(a.open, len(out.Pairs)-1)
	}
	for j, n := range a.open {
		out.Pairs[n].Tracks = []string{}
		if !keep && j < a.pairs {
			out.Pairs[n].Name = ""
		}
	}
	for pos, i := range a.session.Live {
		n := a.open[g.Labels[pos]]
		out.Pairs[n].Tracks = append(out.Pairs[n].Tracks, a.session.Tracks[i].Profile.File)
	}
	firm := map[string]float64{}
	for pos, i := range a.session.Live {
		firm[a.session.Tracks[i].Profile.File] = g.Confidence[pos]
	}
	if len(a.aside) == 0 {
		s.firm[signature(out)] = firm
	}
	return out
}

// fold folds a choice anew onto its pairs.
func (s *session) fold(c *Choice, pairs int) (*Choice, error) {
	a, err := s.unlocked(c, pairs)
	if err != nil {
		return nil, err
	}
	g, err := a.session.Fold(a.pairs)
	if err != nil {
		return nil, err
	}
	return s.take(a, g, false), nil
}

// grow splits pairs that are not locked.
func (s *session) grow(c *Choice, pairs int) (*Choice, error) {
	a, err := s.unlocked(c, pairs)
	if err != nil {
		return nil, err
	}
	old := *s.doc
	old.Pairs = nil
	for _, n := range a.open {
		old.Pairs = append(old.Pairs, s.doc.Pairs[n])
	}
	g, err := a.session.Grow(&old, a.pairs)
	if err != nil {
		return nil, err
	}
	return s.take(a, g, true), nil
}

// shrink joins pairs that are not locked.
func (s *session) shrink(c *Choice, pairs int) (*Choice, error) {
	p, err := s.prepare(c, fold.Options{Pairs: len(c.Pairs)})
	if err != nil {
		return nil, err
	}
	g, err := s.grouping(p, c)
	if err != nil {
		return nil, err
	}
	kept := make([]bool, len(c.Pairs))
	for n, l := range c.Pairs {
		kept[n] = l.Locked
	}
	labels, was, err := p.Shrink(g.Labels, g.Pairs, pairs, kept)
	if err != nil {
		return nil, err
	}
	out := c.clone()
	out.Pairs = nil
	for _, n := range was {
		out.Pairs = append(out.Pairs, Lane{Name: c.Pairs[n].Name, Locked: c.Pairs[n].Locked, Tracks: []string{}})
	}
	for pos, i := range p.Live {
		n := labels[pos]
		out.Pairs[n].Tracks = append(out.Pairs[n].Tracks, p.Tracks[i].Profile.File)
	}
	for n := range out.Pairs { // a pair that was joined is something else now
		if !maps.Equal(asSet(out.Pairs[n].Tracks), asSet(c.Pairs[was[n]].Tracks)) && !out.Pairs[n].Locked {
			out.Pairs[n].Name = ""
		}
	}
	return out, nil
}

func asSet(list []string) map[string]bool {
	out := map[string]bool{}
	for _, f := range list {
		out[f] = true
	}
	return out
}
