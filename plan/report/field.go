package report

import (
	"fmt"
	"math"
	"sort"

	"foldout/plan/sheet"
)

// Measures of the map, in its own units. Counters are the discs with the number of the pair.
const (
	fieldWide   = 1000.0
	fieldHigh   = 460.0
	fieldLeft   = 62.0
	fieldRight  = 16.0
	fieldTop    = 30.0
	fieldBottom = 44.0
	counter     = 9.0
	hullRoom    = 17.0
	labelSize   = 12.5
	labelWide   = 0.56 // width of a letter in sizes, on the wide side of sans-serif faces
	longestName = 22   // letters of a track's label
)

// fieldView is the map of all tracks over register and dynamics.
type fieldView struct {
	Wide, High               float64
	Left, Right, Top, Bottom float64
	Registers                []register
	Ticks                    []tick
	Hulls                    []hullView
	Tracks                   []counterView
	Labels                   []labelView
	Unnamed                  int // tracks for whose names there was no room
}

type tick struct {
	At   float64
	Text string
}

type hullView struct {
	Hue, Hatch int
	Path       string
	Name       string
}

type counterView struct {
	X, Y        float64
	Hue, Number int
	Title       string
}

type labelView struct {
	X, Y   float64
	Anchor string
	Text   string
}

// field lays the map out; nil without a track that has a centroid and a crest factor.
func field(s *sheet.Sheet) *fieldView {
	f := &fieldView{Wide: fieldWide, High: fieldHigh, Left: fieldLeft, Right: fieldWide - fieldRight, Top: fieldTop, Bottom: fieldHigh - fieldBottom}
	lowest, highest := math.Inf(1), math.Inf(-1)
	for _, p := range s.Pairs {
		for _, t := range p.Tracks {
			if placed(&t.Measured) {
				lowest, highest = math.Min(lowest, float64(t.Measured.CrestDB)), math.Max(highest, float64(t.Measured.CrestDB))
			}
		}
	}
	if math.IsInf(lowest, 0) {
		return nil
	}
	step := 3.0
	if highest-lowest > 24 {
		step = 6
	}
	from, to := step*math.Floor((lowest-1)/step), step*math.Ceil((highest+1)/step)
	y := func(crest float64) float64 { return f.Bottom - (f.Bottom-f.Top)*(crest-from)/(to-from) }
	x := func(hz float64) float64 { return f.Left + (f.Right-f.Left)*axisX(hz)/boxWide }
	for v := from; v <= to+step/2; v += step {
		f.Ticks = append(f.Ticks, tick{y(v), fmt.Sprintf("%g dB", v)})
	}
	for _, r := range registers {
		r.X, r.Wide = x(r.FromHz), x(r.ToHz)-x(r.FromHz)
		f.Registers = append(f.Registers, r)
	}
	m := &labeller{field: f}
	var names []wanted
	for n, p := range s.Pairs {
		var points []point
		for _, t := range p.Tracks {
			if !placed(&t.Measured) {
				continue
			}
			at := point{x(float64(t.Measured.CentroidHz)), y(float64(t.Measured.CrestDB))}
			points = append(points, at)
			f.Tracks = append(f.Tracks, counterView{X: at.X, Y: at.Y, Hue: hue(n + 1), Number: n + 1,
				Title: fmt.Sprintf("%s: pair %d, centroid %s, crest factor %s dB", trackName(t.File), n+1, sheet.Hertz(float64(t.Measured.CentroidHz)), decibels(t.Measured.CrestDB))})
			m.taken = append(m.taken, box{at.X - counter, at.Y - counter, at.X + counter, at.Y + counter})
			names = append(names, wanted{at, clipped(shortName(t.File), longestName)})
		}
		if len(points) == 0 {
			continue
		}
		f.Hulls = append(f.Hulls, hullView{Hue: hue(n + 1), Hatch: hatch(n + 1), Path: outline(hull(points), hullRoom), Name: plain(p.Name)})
	}
	// Lonely tracks first: there is room for their names, and they are the ones to ask about.
	sort.SliceStable(names, func(a, b int) bool { return crowd(names[a].at, f.Tracks) < crowd(names[b].at, f.Tracks) })
	for _, w := range names {
		if !m.place(w) {
			f.Unnamed++
		}
	}
	return f
}

func placed(m *sheet.Measured) bool {
	crest := float64(m.CrestDB)
	return m.CentroidHz > 0 && !math.IsInf(crest, 0) && !math.IsNaN(crest) && !math.IsInf(float64(m.CentroidHz), 0)
}

// crowd says how close others are to a place.
func crowd(at point, tracks []counterView) (c float64) {
	const near = 60.0
	for _, t := range tracks {
		c += math.Exp(-math.Hypot(t.X-at.X, t.Y-at.Y) / near)
	}
	return c
}

// labeller puts names beside counters where nothing else is.
type labeller struct {
	field *fieldView
	taken []box
}

type wanted struct {
	at   point
	text string
}

type box struct{ left, top, right, bottom float64 }

func (a box) meets(b box) bool {
	return a.left < b.right && b.left < a.right && a.top < b.bottom && b.top < a.bottom
}

func (m *labeller) place(w wanted) bool {
	const gap, up, down = counter + 3, labelSize * 0.8, labelSize * 0.25
	wide := float64(len([]rune(w.text))) * labelSize * labelWide
	for _, c := range []labelView{
		{X: w.at.X + gap, Y: w.at.Y + labelSize*0.35, Anchor: "start"},
		{X: w.at.X - gap, Y: w.at.Y + labelSize*0.35, Anchor: "end"},
		{X: w.at.X, Y: w.at.Y - gap, Anchor: "middle"},
		{X: w.at.X, Y: w.at.Y + gap + up, Anchor: "middle"},
		{X: w.at.X + gap - 2, Y: w.at.Y - gap + 3, Anchor: "start"},
		{X: w.at.X - gap + 2, Y: w.at.Y - gap + 3, Anchor: "end"},
		{X: w.at.X + gap - 2, Y: w.at.Y + gap + up - 3, Anchor: "start"},
		{X: w.at.X - gap + 2, Y: w.at.Y + gap + up - 3, Anchor: "end"},
	} {
		left := c.X
		switch c.Anchor {
		case "end":
			left -= wide
		case "middle":
			left -= wide / 2
		}
		b := box{left - 1, c.Y - up, left + wide + 1, c.Y + down}
		if b.left < m.field.Left || b.right > m.field.Right || b.top < m.field.Top || b.bottom > m.field.Bottom || m.hits(b) {
			continue
		}
		m.taken = append(m.taken, b)
		c.Text = w.text
		m.field.Labels = append(m.field.Labels, c)
		return true
	}
	return false
}

func (m *labeller) hits(b box) bool {
	for _, t := range m.taken {
		if b.meets(t) {
			return true
		}
	}
	return false
}

// clipped cuts a name to a number of letters and marks the cut.
func clipped(s string, most int) string {
	if r := []rune(s); len(r) > most {
		return string(r[:most-1]) + "…"
	}
	return s
}
