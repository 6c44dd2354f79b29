package workbench

import (
	"maps"
	"math"
	"path/filepath"
	"slices"
	"strconv"

	"foldout/features"
	"foldout/plan/fold"
	"foldout/plan/report"
	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// State is all that the page draws.
type State struct {
	Version string   `json:"version"`
	Demo    bool     `json:"demo"`
	Again   string   `json:"again"` // how the program is started again
	Trouble string   `json:"trouble"`
	Opening *opening `json:"opening"`
	Recent  []Recent `json:"recent"`
	Session *View    `json:"session"`
}

// View is an open session. Pairs count from 1.
type View struct {
	Rev       int64                  `json:"rev"`
	Title     string                 `json:"title"`
	Folder    string                 `json:"folder"`
	Kept      string                 `json:"kept"`       // file that holds the history
	KeptApart string                 `json:"kept_apart"` // why it is not beside the folder
	Registers []report.DrawnRegister `json:"registers"`
	Lanes     []LaneView             `json:"lanes"`
	Tracks    []TrackView            `json:"tracks"`
	Aside     []AsideView            `json:"aside"`
	Faults    []string               `json:"faults"`
	Warnings  []string               `json:"warnings"`
	Figures   []FigureView           `json:"figures"`
	Questions []Question             `json:"questions"`
	Misfits   int                    `json:"misfits"` // -1 while it is not known
	History   []Step                 `json:"history"`
	At        int                    `json:"at"`
	Change    *Change                `json:"change"`
	News      *news                  `json:"news"`
	Tied      [][]string             `json:"tied"`
	Apart     [][]string             `json:"apart"`
	Versions  []VersionView          `json:"versions"`
	Rig       *rig.Rig               `json:"rig"`
	RigFree   int                    `json:"rig_free"` // pairs that are free on the rig, 0 without one
	Operating float64                `json:"operating_dbfs"`
	RateHz    int                    `json:"rate_hz"`
	Frames    int64                  `json:"frames"`
	Made      string                 `json:"made"`  // tells apart how the tracks are read: anew by another run, or since files or pan law changed
	Mute      string                 `json:"mute"`  // why nothing can be heard
	Loads     string                 `json:"loads"` // "", "measuring", or why there are none
	Stems     *stemsView             `json:"stems"`
	Jobs      []JobView              `json:"jobs"`
	Line      *LineView              `json:"line"`
	Print     *PrintView             `json:"print"`
	Unit      *UnitView              `json:"unit"` // null: none was measured
}

// LaneView is one pair.
type LaneView struct {
	Number  int         `json:"number"`
	Name    string      `json:"name"`
	Named   bool        `json:"named"` // by a person
	Locked  bool        `json:"locked"`
	Outputs [2]int      `json:"outputs"`
	Device  string      `json:"device"`
	Reason  string      `json:"reason"`
	Hue     int         `json:"hue"`
	Hatch   int         `json:"hatch"`
	Ridge   string      `json:"ridge"`
	Lines   []string    `json:"lines"`
	Where   string      `json:"where"`
	LUFS    features.DB `json:"lufs"`
	Overlap float64     `json:"overlap"`
	Misfits int         `json:"misfits"`
	Load    *LoadView   `json:"load"`
	Tracks  []SlipView  `json:"tracks"`
}

// LoadView is what a pair sends, measured from the sum.
type LoadView struct {
	LUFS      features.DB `json:"lufs"`
	LoudVU    features.DB `json:"loud_vu"`
	PeakDBTP  features.DB `json:"true_peak_dbtp"`
	TrimDB    float64     `json:"trim_db"`
	Headroom  features.DB `json:"headroom_db"`
	Overs     int         `json:"overs"`
	MonoLoss  features.DB `json:"mono_loss_db"`
	Offenders []string    `json:"offenders"`
}

// SlipView is one track on a pair.
type SlipView struct {
	File    string   `json:"file"`
	Bus     string   `json:"bus"`
	Role    string   `json:"role"`
	Reasons []string `json:"reasons"`
	Sure    *float64 `json:"sure"` // 0..1, null while it is not known
	Firm    string   `json:"firm"`
	Loose   bool     `json:"loose"`
	Misfit  bool     `json:"misfit"`
	Next    int      `json:"next"` // pair it would go to next, 0 for none
	Locked  bool     `json:"locked"`
}

// TrackView is what does not depend on where a track is.
type TrackView struct {
	File     string         `json:"file"`
	Name     string         `json:"name"`
	Ridge    string         `json:"ridge"`
	Shape    string         `json:"shape"`
	Channels int            `json:"channels"`
	Measured sheet.Measured `json:"measured"`
}

// AsideView is a track on no pair.
type AsideView struct {
	File   string `json:"file"`
	Name   string `json:"name"`
	Reason string `json:"reason"`
	Yours  bool   `json:"yours"` // it can come back
}

// FigureView is one figure of merit.
type FigureView struct {
	Name string `json:"name"`
	Word string `json:"word"`
	Text string `json:"text"`
}

// Question is a doubt of the program that a person can settle: on which of two pairs a track belongs, or, with Next 0,
// whether it is a track at all.
type Question struct {
	File string  `json:"file"`
	Pair int     `json:"pair"`
	Next int     `json:"next"`
	Sure float64 `json:"sure"`
	Why  string  `json:"why"`
}

// Step is one entry of the history.
type Step struct {
	Name string `json:"name"`
	Time int64  `json:"time"` // seconds since 1970
}

// VersionView is a version by name.
type VersionView struct {
	Name string `json:"name"`
	Time int64  `json:"time"`
}

// state draws all of it.
func (b *Bench) state() *State {
	b.mu.Lock()
	st := &State{Version: b.opt.Version, Demo: b.opt.Demo != nil, Again: b.opt.Again, Trouble: b.trouble}
	if b.opening != nil {
		o := *b.opening
		o.Tracks = slices.Clone(o.Tracks)
		st.Opening = &o
	}
	s := b.session
	b.mu.Unlock()
	st.Recent = b.recent()
	if s != nil {
		st.Session = s.view()
	}
	return st
}

func (s *session) view() *View {
	s.mu.Lock()
	defer s.mu.Unlock()
	c := s.choice()
	drawn := report.Draw(s.doc)
	v := &View{Rev: s.rev, Title: s.doc.Title, Folder: s.folder, Kept: s.keep.path, KeptApart: s.keep.apart, Registers: drawn.Registers,
		Lanes: []LaneView{}, Tracks: []TrackView{}, Aside: []AsideView{}, Faults: append([]string{}, s.faults...), Warnings: append([]string{}, s.doc.Warnings...), Figures: []FigureView{},
		Questions: []Question{}, Misfits: misfits(s.doc), History: []Step{}, At: s.at, Change: s.change, News: s.news,
		Tied: append([][]string{}, c.Tied...), Apart: append([][]string{}, c.Apart...), Versions: []VersionView{}, Rig: c.Rig,
		Operating: operating(c), RigFree: len(freePairs(c.Rig)), Mute: s.mute, Jobs: []JobView{}, Line: s.line(), Print: s.print()}
	for _, name := range slices.Sorted(maps.Keys(s.jobs)) {
		v.Jobs = append(v.Jobs, s.jobs[name].view(name))
	}
	if s.traced != nil {
		v.Unit = measuredUnit(s.traced, v.Operating)
	}
	if s.sound != nil {
		v.RateHz, v.Frames, v.Made = s.sound.session.RateHz, s.sound.session.Frames, strconv.FormatInt(s.sound.made.UnixNano(), 36)
	}
	for n := range s.doc.Pairs {
		v.Lanes = append(v.Lanes, s.lane(c, n, drawn.Lanes[n]))
	}
	s.loadUp(v)
	for _, t := range s.tracks {
		m := measuredOf(&t.Profile)
		ridge, shape := report.DrawTrack(&m)
		v.Tracks = append(v.Tracks, TrackView{t.Profile.File, c.name(t.Profile.File), ridge, shape, t.Profile.Channels, wholly(&t.Profile)})
	}
	for _, a := range s.doc.SetAside {
		v.Aside = append(v.Aside, AsideView{a.File, c.name(a.File), a.Reason, s.live[a.File]})
	}
	for _, row := range sheet.ShownRows(&s.doc.Figures) {
		v.Figures = append(v.Figures, FigureView{row.Name, row.Word, row.Text(&s.doc.Figures)})
	}
	v.Questions = questions(s.doc, c)
	for _, e := range s.history {
		v.History = append(v.History, Step{e.Name, e.Time.Unix()})
	}
	for _, k := range s.keep.versions {
		v.Versions = append(v.Versions, VersionView{k.Name, k.Time.Unix()})
	}
	if s.stems != nil {
		v.Stems = s.stems.view()
	}
	return v
}

func (s *session) lane(c *Choice, n int, d report.DrawnLane) LaneView {
	p, f := &s.doc.Pairs[n], s.doc.Figures.Pairs[n]
	l := LaneView{Number: n + 1, Name: p.Name, Named: c.Pairs[n].Name != "", Locked: c.Pairs[n].Locked, Outputs: p.Outputs, Reason: p.Reason,
		Hue: d.Hue, Hatch: d.Hatch, Ridge: d.Ridge, Lines: d.Lines, Where: d.Where, LUFS: f.LoudnessLUFS, Overlap: f.RegisterOverlap, Tracks: []SlipView{}}
	if free := freePairs(c.Rig); n < len(free) && len(c.Rig.Interfaces) > 1 {
		l.Device = free[n].Interface
	}
	for k, t := range p.Tracks {
		slip := SlipView{File: t.File, Bus: t.Bus, Role: t.Role, Reasons: texts(t.Reasons, len(t.Reasons)), Locked: c.Locked[t.File],
			Next: slices.IndexFunc(s.doc.Pairs, func(q sheet.Pair) bool { return q.Name == t.RunnerUp }) + 1}
		if sure := t.Confidence; sure >= 0 {
			slip.Sure, slip.Firm, slip.Loose, slip.Misfit = &sure, d.Slips[k].Firm, d.Slips[k].Loose, isMisfit(sure)
		}
		if slip.Misfit {
			l.Misfits++
		}
		l.Tracks = append(l.Tracks, slip)
	}
	return l
}

// loadUp adds what the pairs send, where that has been measured of the present grouping.
func (s *session) loadUp(v *View) {
	switch {
	case s.sound == nil:
		v.Loads = s.mute
		return
	case s.loadsAt != loadKey(s.choice()):
		v.Loads = "measuring"
		return
	case s.loads == nil:
		v.Loads = s.loadsTrouble
		return
	}
	for _, p := range s.loads.Pairs {
		if p.Number > len(v.Lanes) {
			continue
		}
		l := &LoadView{LUFS: p.IntegratedLUFS, LoudVU: p.VULoud, PeakDBTP: p.TruePeakDBTP, TrimDB: p.Trim.GainDB,
			Headroom: min(p.HeadroomConverterDB, p.HeadroomUnitDB), Overs: p.OverCount, MonoLoss: p.MonoLossDB, Offenders: []string{}}
		for _, o := range p.Offenders {
			l.Offenders = append(l.Offenders, o.File)
		}
		v.Lanes[p.Number-1].Load = l
	}
}

// wholly takes the figures that the page shows of a track.
func wholly(p *features.Profile) sheet.Measured {
	finite := func(v float64) float64 {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			return 0
		}
		return v
	}
	return sheet.Measured{Channels: p.Channels, DurationS: p.DurationS, IntegratedLUFS: p.IntegratedLUFS, TruePeakDBTP: p.TruePeakDBTP,
		ActiveRMSDBFS: p.ActiveRMSDBFS, CrestDB: p.CrestDB, CentroidHz: p.CentroidHz, OnsetRateHz: finite(p.OnsetRateHz), AttackS: p.AttackS,
		DecayS: p.DecayS, Tonality: finite(p.Tonality), ActiveShare: p.ActiveShare, OctaveDB: p.OctaveDB, RegisterShare: p.RegisterShare}
}

// questions are the files that may be no tracks, and then the tracks whose place is not firm, the most doubtful first.
// What is locked is answered.
func questions(doc *sheet.Sheet, c *Choice) []Question {
	out := []Question{}
	for _, q := range doc.Questions {
		out = append(out, Question{File: q.File, Pair: c.where(q.File) + 1, Sure: q.Certainty, Why: q.Text})
	}
	first := len(out)
	for n, p := range doc.Pairs {
		for _, t := range p.Tracks {
			if t.Confidence < 0 || 1-t.Confidence < fold.DoubtfulFrom || c.Locked[t.File] || c.Pairs[n].Locked {
				continue
			}
			next := slices.IndexFunc(doc.Pairs, func(q sheet.Pair) bool { return q.Name == t.RunnerUp })
			if next < 0 || t.RunnerUp == "" {
				continue
			}
			q := Question{File: t.File, Pair: n + 1, Next: next + 1, Sure: t.Confidence}
			if len(t.Reasons) > 0 {
				q.Why = t.Reasons[0].Text()
			}
			out = append(out, q)
		}
	}
	slices.SortStableFunc(out[first:], func(a, b Question) int {
		switch {
		case a.Sure < b.Sure:
			return -1
		case a.Sure > b.Sure:
			return 1
		}
		return 0
	})
	return out
}

// base is the name of the folder, for files that are written beside it.
func (s *session) base() string { return filepath.Base(s.folder) }
