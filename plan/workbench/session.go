package workbench

import (
	"cmp"
	"context"
	"crypto/sha256"
	"encoding/hex"
	"errors"
	"fmt"
	"maps"
	"net/http"
	"slices"
	"strings"
	"sync"
	"time"

	"foldout/features"
	"foldout/features/kinship"
	"foldout/plan/aside"
	"foldout/plan/fold"
	"foldout/plan/levels"
	"foldout/plan/printcheck"
	"foldout/plan/rig"
	"foldout/plan/roles"
	"foldout/plan/sheet"
)

// session is an open folder with what a person has made of it.
type session struct {
	b      *Bench
	folder string
	life   context.Context
	end    context.CancelFunc
	stir   chan struct{} // wakes the work in the background
	floor  floor

	mu     sync.Mutex // guards what follows
	tracks []*features.Analysis
	stamps map[string]stamp
	kin    fold.Kin
	live   map[string]bool           // tracks that sound
	found  map[string]sheet.SetAside // files that sound and are no tracks, by themselves
	asked  []sheet.Question          // files that may be none
	faults []string                  // files that could not be read or were passed over, each a sentence
	starts []sheet.Offset            // of files found to begin late, for the first entry of the history
	news   *news                     // what a look at the folder has found since; nil for nothing

	prepared    *fold.Session
	preparedFor string

	keep         *keeper
	history      []entry // never empty
	at           int     // the present
	rev          int64   // counts states
	doc          *sheet.Sheet
	firm         map[string]map[string]float64 // confidence by file, for groupings that have been judged
	change       *Change                       // by the last act
	loads        *levels.Levels                // of loadsFor
	loadsTrouble string                        // why there are none
	loadsAt      string                        // the grouping and rig that loads is of
	offers       map[string]*offer
	loudness     map[string]features.DB // of sums that have been measured, by company
	room         map[string]features.DB // headroom of pairs that have been measured, by rig and company
	sweep        *sheet.Sweep
	sound        *sound
	mute         string // why there is no sound
	away         bool   // the folder is not where it was
	stems        *stemsJob

	habits      *sheet.Habits // by which it is folded; nil for those of the trade
	jobs        map[string]*job
	traced      *traced // the line check that is shown
	compared    *printcheck.Result
	comparedNow bool              // in this run, so that excerpts can be written
	bounced     map[string]string // mixes that were written, by their tracks
	blind       http.Handler      // the blind test that is ready
	blindOf     string            // name of its excerpts
}

// entry is one step of the history.
type entry struct {
	Name   string    `json:"name"`
	Time   time.Time `json:"time"`
	Choice *Choice   `json:"choice"`
}

func (s *session) choice() *Choice { return s.history[s.at].Choice }

// load measures a folder, or that of a given sheet, relates its tracks, and takes up what was kept of it, or folds it anew.
func (b *Bench) load(ctx context.Context, o *opening, target string, given *sheet.Sheet) (_ *session, err error) {
	folder := target
	if given != nil {
		folder = given.Folder
	}
	s := &session{b: b, folder: folder, stir: make(chan struct{}, 1), firm: map[string]map[string]float64{}, offers: map[string]*offer{}, loudness: map[string]features.DB{}, room: map[string]features.DB{},
		jobs: map[string]*job{}, bounced: map[string]string{}}
	s.life, s.end = context.WithCancel(b.life)
	s.rev = time.Now().UnixMilli() // later than any that a page has from a program before this one
	defer func() {
		if err != nil {
			s.end()
		}
	}()
	if s.keep, s.history, s.at, err = openKeeper(folder, b.opt.Recent); err != nil {
		return nil, err
	}
	s.habits = b.opt.Habits
	var late []sheet.Offset
	if given != nil {
		late = given.Settings.Offsets
		s.habits = cmp.Or(given.Settings.Habits, s.habits)
	} else if len(s.history) > 0 {
		late = s.choice().Starts
	}
	measure := func(starts []sheet.Offset) (*measured, error) {
		return b.measure(ctx, folder, starts, func(done, total int64) { b.progress(o, "measuring", done, total) }, func(a arrival) { b.arrived(o, a) })
	}
	var found *measured
	if given == nil && len(s.history) == 0 {
		s.starts, found, err = b.lineUp(ctx, folder, nil, measure)
	} else {
		found, err = measure(late)
	}
	if err != nil {
		return nil, err
	}
	s.adopt(found)
	b.progress(o, "relating", 0, int64(len(s.tracks)))
	s.kin = fold.FindKin(s.tracks)
	if err := ctx.Err(); err != nil {
		return nil, err
	}
	b.progress(o, "folding", 0, 0)
	if err := s.tell(); err != nil {
		return nil, err
	}
	if err := s.start(given, target); err != nil {
		return nil, err
	}
	if s.doc, err = s.write(s.choice()); err != nil {
		return nil, err
	}
	s.openSound()
	return s, s.keep.write(s.history, s.at)
}

// start makes the first entry of the history, or brings a kept one up to the tracks that are there.
func (s *session) start(given *sheet.Sheet, path string) error {
	switch {
	case given != nil:
		c := choiceOf(given)
		c.Rig = s.b.opt.Rig
		for n, p := range given.Pairs {
			c.Pairs[n].Name = p.Name
		}
		for _, a := range given.SetAside {
			if s.live[a.File] {
				c.Aside[a.File] = a.Reason
			}
		}
		for f := range s.found {
			if c.where(f) >= 0 {
				c.Taken[f] = true
			}
		}
		if err := s.cover(c); err != nil {
			return err
		}
		if len(s.history) == 0 || !sameGrouping(c, s.choice()) || !slices.Equal(c.Starts, s.choice().Starts) {
			s.add("opened "+sheet.TrackName(path), c)
		}
	case len(s.history) == 0:
		c := (&Choice{Rig: s.b.opt.Rig, Starts: s.starts}).clone()
		pairs := s.b.opt.Pairs
		if pairs == 0 {
			pairs = 4
			if c.Rig != nil {
				free, _, err := c.Rig.Pairs()
				if err != nil {
					return err
				}
				pairs = len(free)
			}
		}
		for range pairs {
			c.Pairs = append(c.Pairs, Lane{Tracks: []string{}})
		}
		folded, err := s.fold(c, pairs)
		if err != nil {
			return err
		}
		s.add(fmt.Sprintf("folded onto %s", sheet.Plural(pairs, "pair", "pairs")), folded)
	default:
		c := s.choice().clone()
		if err := s.cover(c); err != nil {
			return err
		}
		if !sameGrouping(c, s.choice()) {
			s.add("tracks came or went", c)
		}
	}
	return nil
}

// add puts a choice after the present one; what had been undone is gone then.
func (s *session) add(name string, c *Choice) {
	if len(s.history) > 0 {
		s.history = s.history[:s.at+1]
	}
	s.history = append(s.history, entry{Name: name, Time: time.Now().UTC().Truncate(time.Second), Choice: c})
	s.at = len(s.history) - 1
}

// cover sees to it that a choice speaks of the tracks that are there and of no others: new ones join the pair that holds
// their like.
func (s *session) cover(c *Choice) error {
	there := map[string]bool{}
	for _, t := range s.tracks {
		there[t.Profile.File] = true
	}
	at := c.place()
	var fresh []string
	for f := range s.live {
		if _, placed := at[f]; !placed && c.Aside[f] == "" && !s.out(c, f) {
			fresh = append(fresh, f)
		}
	}
	for n := range c.Pairs {
		c.Pairs[n].Tracks = slices.DeleteFunc(c.Pairs[n].Tracks, func(f string) bool { return !s.live[f] || s.out(c, f) })
	}
	maps.DeleteFunc(c.Aside, func(f, _ string) bool { return !there[f] })
	if len(fresh) == 0 {
		return nil
	}
	slices.SortFunc(fresh, features.NaturalCompare)
	known := c.clone()
	for _, f := range fresh {
		known.Aside[f] = "new"
	}
	if len(known.place()) == 0 {
		c.Pairs[0].Tracks = append(c.Pairs[0].Tracks, fresh...)
		return nil
	}
	old, err := s.write(known)
	if err != nil {
		return err
	}
	p, err := s.prepare(c, fold.Options{Pairs: len(c.Pairs)})
	if err != nil {
		return err
	}
	g, err := p.Like(old)
	if err != nil {
		return err
	}
	for pos, i := range p.Live {
		if f := p.Tracks[i].Profile.File; slices.Contains(fresh, f) {
			c.Pairs[g.Labels[pos]].Tracks = append(c.Pairs[g.Labels[pos]].Tracks, f)
		}
	}
	return nil
}

// sameGrouping tells whether two choices put the same tracks on the same pairs.
func sameGrouping(a, b *Choice) bool {
	return len(a.Pairs) == len(b.Pairs) && maps.Equal(a.place(), b.place()) && maps.Equal(a.Aside, b.Aside)
}

// prepare readies the tracks of a choice for folding. Preparations without ties, splits and pins are kept.
func (s *session) prepare(c *Choice, opt fold.Options) (*fold.Session, error) {
	plain := len(opt.Tie)+len(opt.Apart)+len(opt.Pin) == 0
	key := strings.Join(slices.Sorted(maps.Keys(c.Aside)), "\x00") + "\x01" + strings.Join(slices.Sorted(maps.Keys(c.Taken)), "\x00")
	if plain && s.prepared != nil && s.preparedFor == key {
		return s.prepared, nil
	}
	p, err := s.prepareWithout(c, func(f string) bool { return c.Aside[f] != "" && s.live[f] }, opt)
	if err == nil && plain {
		s.prepared, s.preparedFor = p, key
	}
	return p, err
}

// prepareWithout readies all tracks but some. What is no track has been told from all of them together (tell), and is not
// asked again of a part of them.
func (s *session) prepareWithout(c *Choice, left func(file string) bool, opt fold.Options) (*fold.Session, error) {
	for f := range s.live {
		switch {
		case left(f):
		case s.out(c, f):
			opt.Exclude = append(opt.Exclude, f)
		default:
			opt.Include = append(opt.Include, f)
		}
	}
	slices.Sort(opt.Exclude)
	slices.Sort(opt.Include)
	tracks, kin := s.tracks, s.kin
	if slices.ContainsFunc(s.tracks, func(t *features.Analysis) bool { return left(t.Profile.File) }) {
		tracks, kin = nil, fold.Kin{}
		place := map[int]int{}
		for i, t := range s.tracks {
			if !left(t.Profile.File) {
				place[i] = len(tracks)
				tracks = append(tracks, t)
			}
		}
		for _, r := range s.kin {
			if a, ok := place[r.A]; ok {
				if b, ok := place[r.B]; ok {
					kin = append(kin, moved(r, a, b))
				}
			}
		}
	}
	opt.Kin, opt.Seed, opt.Version = kin, s.b.opt.Seed, s.b.opt.Version
	opt.Habits = s.habits
	p, err := fold.Prepare(s.folder, tracks, opt)
	if err != nil && len(tracks) > 0 && !errors.As(err, new(*fold.OptionError)) {
		return nil, errors.New("no track with sound is left on any pair; leave at least one")
	}
	return p, err
}

func moved(r kinship.Relation, a, b int) kinship.Relation {
	r.A, r.B = a, b
	return r
}

// write makes the sheet of a choice: names, buses, reasons, figures. How firm each place is stands in it where it is
// known already, and is -1 elsewhere; see judge.
func (s *session) write(c *Choice) (*sheet.Sheet, error) {
	p, err := s.prepare(c, fold.Options{Pairs: len(c.Pairs)})
	if err != nil {
		return nil, err
	}
	g, err := s.grouping(p, c)
	if err != nil {
		return nil, err
	}
	known := s.firm[signature(c)]
	for pos, i := range p.Live {
		g.Confidence[pos] = -1
		if v, ok := known[p.Tracks[i].Profile.File]; ok {
			g.Confidence[pos] = v
		}
	}
	doc, err := p.Sheet(g)
	if err != nil {
		return nil, err
	}
	s.dress(doc, c)
	s.soundOut(&doc.Figures, c)
	return doc, nil
}

// grouping is a choice as package fold has it.
func (s *session) grouping(p *fold.Session, c *Choice) (*fold.Grouping, error) {
	at := c.place()
	labels := make([]int, len(p.Live))
	for pos, i := range p.Live {
		n, ok := at[p.Tracks[i].Profile.File]
		if !ok {
			return nil, fmt.Errorf("%s is on no pair", p.Tracks[i].Profile.File)
		}
		labels[pos] = n
	}
	var names []string
	for _, l := range c.Pairs {
		names = append(names, l.Name)
	}
	return p.ByHand(labels, len(c.Pairs), names), nil
}

// dress gives a sheet what the fold does not know: title, outputs of the rig, tracks set aside, settings.
func (s *session) dress(doc *sheet.Sheet, c *Choice) {
	if c.Title != "" {
		doc.Title = c.Title
	}
	for _, own := range slices.Sorted(maps.Keys(c.Buses)) {
		if slices.ContainsFunc(doc.Pairs, func(p sheet.Pair) bool { return slices.Contains(p.Buses, own) }) {
			if err := doc.RenameBus(own, c.Buses[own]); err != nil { // it has come beside a bus of that name
				doc.Warnings = append(doc.Warnings, err.Error())
			}
		}
	}
	doc.Notes = c.Notes
	doc.Settings.Pairs, doc.Settings.Offsets = len(c.Pairs), c.Starts
	if s.at > 0 {
		doc.Settings.Adopted = "workbench"
	}
	doc.Settings.Tie, doc.Settings.Apart = commas(c.Tied), commas(c.Apart)
	doc.Settings.Include, doc.Settings.Exclude = slices.Sorted(maps.Keys(c.Taken)), nil
	for i, a := range doc.SetAside {
		if found, ok := s.found[a.File]; ok {
			doc.SetAside[i] = found
		}
	}
	for _, q := range s.asked {
		if c.where(q.File) >= 0 && !c.Taken[q.File] {
			doc.Questions = append(doc.Questions, q)
		}
	}
	if free := freePairs(c.Rig); free != nil {
		for n := range doc.Pairs {
			if n < len(free) {
				doc.Pairs[n].Outputs = free[n].Outputs
			}
		}
		if extra := len(doc.Pairs) - len(free); extra > 0 {
			doc.Warnings = append(doc.Warnings, fmt.Sprintf("%s has %s free; this sheet has %d", c.Rig.Name, sheet.Plural(len(free), "pair", "pairs"), len(doc.Pairs)))
		}
	}
	for _, f := range slices.SortedFunc(maps.Keys(c.Aside), features.NaturalCompare) {
		if s.live[f] {
			doc.SetAside = append(doc.SetAside, sheet.SetAside{File: f, Kind: string(aside.Excluded), Certainty: 1, Reason: c.Aside[f]})
			doc.Settings.Exclude = append(doc.Settings.Exclude, f)
		}
	}
	roles.Halves(doc)
}

// freePairs are the free pairs of a rig; nil without one.
func freePairs(r *rig.Rig) []rig.Pair {
	if r == nil {
		return nil
	}
	free, _, err := r.Pairs()
	if err != nil { // it was validated when it was chosen
		return nil
	}
	return free
}

// commas writes companies as the command line takes them.
func commas(list [][]string) (out []string) {
	for _, l := range list {
		out = append(out, sheet.JoinNames(l))
	}
	return out
}

// signature tells groupings apart, whatever the pairs are called.
func signature(c *Choice) string {
	h := sha256.New()
	for _, p := range c.Pairs {
		for _, f := range slices.Sorted(slices.Values(p.Tracks)) {
			h.Write([]byte(f + "\x00")) //nolint:errcheck // a hash does not fail
		}
		h.Write([]byte{1}) //nolint:errcheck // likewise
	}
	return hex.EncodeToString(h.Sum(nil)[:12])
}

// pairName is what a pair is called at present, by its place in the list.
func (s *session) pairName(n int) string {
	if s.doc != nil && n < len(s.doc.Pairs) {
		return s.doc.Pairs[n].Name
	}
	return fmt.Sprintf("pair %d", n+1)
}

// act changes the choice, keeps it, and tells the pages.
func (s *session) act(a Act) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.rejoin(); err != nil {
		return err
	}
	do, ok := acts[a.Do]
	if !ok {
		return fmt.Errorf("there is nothing called %q to do", a.Do)
	}
	if err := s.know(a.Tracks); err != nil {
		return err
	}
	c := s.choice().clone()
	name, err := do(s, c, a)
	if err != nil {
		return err
	}
	return s.show(c, func() { s.add(name, c) })
}

// know refuses names that are no tracks of the session.
func (s *session) know(files []string) error {
	for _, f := range files {
		if !slices.ContainsFunc(s.tracks, func(t *features.Analysis) bool { return t.Profile.File == f }) {
			return fmt.Errorf("there is no track %q in this session", f)
		}
	}
	return nil
}

// travel goes to another place of the history.
func (s *session) travel(to int) error {
	s.mu.Lock()
	defer s.mu.Unlock()
	if err := s.rejoin(); err != nil {
		return err
	}
	if to < 0 || to >= len(s.history) {
		return fmt.Errorf("the history has %d steps", len(s.history))
	}
	c := s.history[to].Choice.clone()
	if err := s.cover(c); err != nil { // a track may have gone since
		return err
	}
	return s.show(c, func() {
		s.at = to
		s.history[to].Choice = c
	})
}

// show makes a choice the present one. Either all of it succeeds or nothing is changed.
func (s *session) show(c *Choice, enter func()) error {
	doc, err := s.write(c)
	if err != nil {
		return err
	}
	before, history, at := s.doc, slices.Clone(s.history), s.at
	enter()
	if err := s.keep.write(s.history, s.at); err != nil {
		s.history, s.at = history, at
		return err
	}
	s.change = changeOf(s, before, doc, history[at].Choice, c)
	s.doc = doc
	s.offers = map[string]*offer{}
	if s.sound == nil || panGain(history[at].Choice.Rig) != panGain(c.Rig) {
		s.openSound()
	}
	s.touch()
	select {
	case s.stir <- struct{}{}:
	default:
	}
	return nil
}

// rejoin takes up what another program has done to this session meanwhile; then it is an error to go on as if nothing had
// happened. Call it with the lock held.
func (s *session) rejoin() error {
	if !s.keep.moved() {
		return nil
	}
	history, at, err := s.keep.read()
	if err != nil {
		return fmt.Errorf("%s was changed by another program and cannot be read any more (%w); move it away to go on", s.keep.path, err)
	}
	c := history[at].Choice.clone()
	if err := s.cover(c); err != nil {
		return err
	}
	doc, err := s.write(c)
	if err != nil {
		return err
	}
	history[at].Choice = c
	s.history, s.at, s.doc, s.change, s.offers = history, at, doc, nil, map[string]*offer{}
	s.touch()
	select {
	case s.stir <- struct{}{}:
	default:
	}
	return errors.New("another foldout has worked on this session; the page shows now what it did, so look again and repeat what you wanted")
}

// touch counts a new state and tells the pages to fetch it.
func (s *session) touch() {
	s.rev++
	s.b.events.Send("changed", map[string]int64{"rev": s.rev})
}

// close ends the work in the background and releases the files.
func (s *session) close() {
	s.end()
	s.mu.Lock()
	defer s.mu.Unlock()
	if s.sound != nil {
		s.sound.close()
	}
}
