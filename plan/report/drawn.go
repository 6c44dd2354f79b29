package report

import (
	"fmt"
	"html/template"
	"regexp"
	"strings"

	"foldout/plan/sheet"
)

// Drawn is a sheet as the page draws it, for other pages that show the same.
type Drawn struct {
	Lanes     []DrawnLane     `json:"lanes"`
	Registers []DrawnRegister `json:"registers"`
}

// DrawnRegister is one register on the axis of the ribbons, which is 1000 wide.
type DrawnRegister struct {
	Name string  `json:"name"`
	X    float64 `json:"x"`
	Wide float64 `json:"wide"`
}

// DrawnLane is one pair. Paths are SVG path data in a box of 1000 x 100.
type DrawnLane struct {
	Hue   int         `json:"hue"`   // 1..7, class p1..p7 of Styles
	Hatch int         `json:"hatch"` // 0..6
	Ridge string      `json:"ridge"` // spectrum of the pair
	Lines []string    `json:"lines"` // of its tracks, at their level below the pair
	Where string      `json:"where"` // registers in which it is strong, in words
	Slips []DrawnSlip `json:"slips"` // in the order of the sheet's tracks
}

// DrawnSlip is one track.
type DrawnSlip struct {
	File  string `json:"file"`
	Ridge string `json:"ridge"`
	Shape string `json:"shape"`
	Firm  string `json:"firm"` // firm, likely, open, a near thing
	Loose bool   `json:"loose"`
}

// Draw lays a sheet out.
func Draw(s *sheet.Sheet) Drawn {
	var d Drawn
	for _, r := range registers {
		d.Registers = append(d.Registers, DrawnRegister{r.Name, r.X, r.Wide})
	}
	for n, l := range lanes(s) {
		out := DrawnLane{Hue: l.Hue, Hatch: l.Hatch, Ridge: l.Ridge, Lines: l.Lines, Where: l.Where, Slips: []DrawnSlip{}}
		if l.Free {
			out.Ridge = ""
		}
		if out.Lines == nil { // one track alone
			out.Lines = []string{}
		}
		k := 0
		for _, b := range l.Buses {
			for _, slip := range b.Slips {
				out.Slips = append(out.Slips, DrawnSlip{s.Pairs[n].Tracks[k].File, slip.Ridge, slip.Shape, slip.Firm, slip.Loose})
				k++
			}
		}
		d.Lanes = append(d.Lanes, out)
	}
	return d
}

// DrawTrack is the ribbon of one track and the registers in which it is strong.
func DrawTrack(m *sheet.Measured) (path, shape string) {
	power := powerOf(m)
	return ridge(power.heights(power.top())), where(power)
}

// Parts of a page that can be had alone.
const (
	PartLevels    = "levels"
	PartPatch     = "patch"
	PartMap       = "field"
	PartSweep     = "sweep"
	PartJudgement = "check"
	PartGlossary  = "glossary"
)

// Part writes one part of the page as HTML without its frame, for pages that load Styles. Inline styles stand in
// data-style, since such pages forbid them; a script has to put them in place.
func (p Page) Part(name string) (string, error) {
	v, err := p.view()
	if err != nil {
		return "", err
	}
	var data any
	switch {
	case name == PartLevels && v.Levels != nil:
		data = v.Levels
	case name == PartPatch && v.Patch != nil:
		data = v.Patch
	case name == PartSweep && v.Sweep != nil:
		data = v.Sweep
	case name == PartJudgement && v.Check != nil:
		data = v.Check
	case name == PartMap && v.Field != nil, name == PartGlossary && v.Glossary != nil:
		data = v
	default:
		return "", fmt.Errorf("%s: %w", name, ErrEmpty)
	}
	var b strings.Builder
	if err := page.ExecuteTemplate(&b, name, data); err != nil {
		return "", fmt.Errorf("%s cannot be drawn: %w", name, err)
	}
	return inlineStyle.ReplaceAllString(b.String(), `${1}data-style="`), nil
}

// inlineStyle is the style attribute as templates and plots write it.
var inlineStyle = regexp.MustCompile(`(\s)style="`)

// Hatches is SVG that defines the patterns which double the colours; it takes no room on a page.
func Hatches() (string, error) {
	var list []int
	for h := range hues {
		list = append(list, h)
	}
	var b strings.Builder
	err := page.ExecuteTemplate(&b, "hatches", list)
	return b.String(), err
}

// Styles is the style sheet of the page: colours in light and dark, and the classes that Part uses.
func Styles() (template.CSS, error) { return style() }
