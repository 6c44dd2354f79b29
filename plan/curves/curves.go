// Package curves draws curves over a logarithmic or a linear axis as SVG inside a page, in the look of the report: every
// colour is doubled by a dash pattern and a name.
//
// In go points, out comes a Chart that the template named "chart" (Template) draws, with the style sheet CSS, which also holds
// the lists of findings that such pages share.
package curves

import (
	_ "embed"
	"fmt"
	"html/template"
	"math"
	"regexp"
	"strings"
)

// Template defines "chart", which draws a Chart.
//
//go:embed chart.tmpl
var Template string

//go:embed chart.css
var css string

// CSS is the style sheet of charts and lists of findings; it goes with that of package report.
func CSS() template.CSS { return template.CSS(css) }

// Chart is a drawing. Lengths are in units of the drawing.
type Chart struct {
	Width, Height int
	Left, Top     int
	Right, Bottom int // where the field ends
	Zero          float64
	Curves        []Curve
	Bands         []string // points of areas
	Levels        []Mark   // along the vertical axis
	Steps         []Mark   // along the horizontal axis
	Label, What   string

	lowest, highest float64
	from, to        float64
	logarithmic     bool
}

// Curve is one line of a chart.
type Curve struct {
	Name, Points, Dash string
	Class              int     // p1 to p7, the colours of the report
	EndY               float64 // where its name stands
	first              string  // its own name, and how many more stand for it there
	more               int
}

// Mark is a figure on an axis.
type Mark struct {
	At   float64
	Text string
}

const (
	width, height                          = 960, 340
	leftEdge, topEdge, rightEdge, baseEdge = 52, 14, 900, 300
	nameHeight                             = 11 // names nearer than this would lie on one another
)

var dashes = []string{"", "7 3", "2 3", "9 3 2 3", "1 2", "12 4", "5 5"}

// Frequency is a chart over frequency, 20 Hz to 20 kHz on a logarithmic axis, with levels from lowest to highest. What says
// what it shows, label what stands along the axes.
func Frequency(what, label string, lowest, highest, step float64) *Chart {
	c := empty(what, label, lowest, highest, step)
	c.from, c.to, c.logarithmic = 20, 20000, true
	for _, f := range []struct {
		hz   float64
		text string
	}{{20, "20"}, {50, "50"}, {100, "100"}, {200, "200"}, {500, "500"}, {1000, "1k"}, {2000, "2k"}, {5000, "5k"}, {10000, "10k"}, {20000, "20k"}} {
		c.Steps = append(c.Steps, Mark{c.x(f.hz), f.text})
	}
	return c
}

// Linear is a chart over an axis from one figure to another, with a mark every so many.
func Linear(what, label string, from, to, every, lowest, highest, step float64) *Chart {
	c := empty(what, label, lowest, highest, step)
	c.from, c.to = from, to
	for v := from; v <= to+every/100; v += every {
		c.Steps = append(c.Steps, Mark{c.x(v), signed(v, every, "%g")})
	}
	return c
}

func empty(what, label string, lowest, highest, step float64) *Chart {
	c := &Chart{Width: width, Height: height, Left: leftEdge, Top: topEdge, Right: rightEdge, Bottom: baseEdge, Label: label, What: what, lowest: lowest, highest: highest}
	for db := lowest; db <= highest+step/100; db += step {
		c.Levels = append(c.Levels, Mark{c.y(db), signed(db, step, "%+g")})
	}
	c.Zero = c.y(0)
	return c
}

func signed(v, step float64, format string) string {
	if math.Abs(v) < step/100 {
		return "0"
	}
	return strings.ReplaceAll(fmt.Sprintf(format, v), "-", "−")
}

func (c *Chart) x(v float64) float64 {
	v = min(max(v, c.from), c.to)
	share := (v - c.from) / (c.to - c.from)
	if c.logarithmic {
		share = math.Log(v/c.from) / math.Log(c.to/c.from)
	}
	return leftEdge + (rightEdge-leftEdge)*share
}

func (c *Chart) y(v float64) float64 {
	return baseEdge - (baseEdge-topEdge)*(min(max(v, c.lowest), c.highest)-c.lowest)/(c.highest-c.lowest)
}

// Add draws a curve through points, which are cut off at the edges of the chart. n chooses colour and dashes, from 0. Points
// that are no numbers are left out.
func (c *Chart) Add(name string, n int, xs, ys []float64) {
	var b strings.Builder
	last := 0.0
	for i, v := range ys {
		if math.IsNaN(v) || math.IsInf(v, 0) {
			continue
		}
		last = c.y(v)
		fmt.Fprintf(&b, "%.1f,%.1f ", c.x(xs[i]), last)
	}
	if b.Len() == 0 {
		return
	}
	own := name
	for i := range c.Curves { // names that would lie on one another are counted at the first
		if other := &c.Curves[i]; other.Name != "" && math.Abs(other.EndY-last) < nameHeight {
			other.more++
			other.Name, name = fmt.Sprintf("%s +%d", other.first, other.more), ""
			break
		}
	}
	c.Curves = append(c.Curves, Curve{Name: name, Points: strings.TrimSpace(b.String()), Dash: dashes[n%len(dashes)], Class: n%7 + 1, EndY: last, first: own})
}

// Between draws the area between two curves over the same points, such as an interval of confidence.
func (c *Chart) Between(xs, low, high []float64) {
	var forth, back []string
	for i := range xs {
		forth = append(forth, fmt.Sprintf("%.1f,%.1f", c.x(xs[i]), c.y(high[i])))
		back = append([]string{fmt.Sprintf("%.1f,%.1f", c.x(xs[i]), c.y(low[i]))}, back...)
	}
	if len(forth) > 1 {
		c.Bands = append(c.Bands, strings.Join(append(forth, back...), " "))
	}
}

// Reach is the smallest of the limits given that holds all values, the largest where none does.
func Reach(values []float64, limits ...float64) float64 {
	most := 0.0
	for _, v := range values {
		if !math.IsNaN(v) && !math.IsInf(v, 0) {
			most = max(most, math.Abs(v))
		}
	}
	for _, l := range limits {
		if most <= l {
			return l
		}
	}
	return limits[len(limits)-1]
}

var (
	minus   = regexp.MustCompile(`(^|[\s(])-(\d)`)
	nothing = regexp.MustCompile(`(^|[\s(])[-−](0(?:\.0+)?)([^\d.]|\.?$|\.\s)`)
)

// Signs writes the signs of the numbers in a sentence as a page shows them: the minus sign proper, and none before nothing.
func Signs(text string) string {
	return nothing.ReplaceAllString(minus.ReplaceAllString(text, "$1−$2"), "$1$2$3")
}
