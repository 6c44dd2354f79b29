package report

import (
	"fmt"
	"math"
	"strings"

	"foldout/plan/sheet"
)

// Ribbons are drawn over ten octaves, from the lower edge of the band at 31.5 Hz to the upper edge of that at 16 kHz
// (IEC 61260-1, base ten), in a box of boxWide x boxHigh that the page stretches.
const (
	boxWide     = 1000.0
	boxHigh     = 100.0
	rangeDB     = 36.0 // a band that far below the strongest is drawn at zero height (chosen by eye)
	ribbonRoom  = 0.94 // share of the height that the strongest band reaches
	octaves     = 10
	lowestHz    = 22.3872 // 10^(27/20) Hz, lower edge of the band at 31.5 Hz
	highestHz   = 22387.2
	bandEdgeDB  = 6.0 // the ribbon leaves the box that much below its outermost bands
	centreShift = 0.5 // a band's middle lies half a band above its lower edge
)

// register is one register on the axis of ribbons and map.
type register struct {
	Name   string
	FromHz float64
	ToHz   float64
	X      float64 // of its lower end, 0..boxWide
	Wide   float64
}

// registers are common practice, no source.
var registers = layRegisters([]register{
	{Name: "sub", FromHz: lowestHz, ToHz: 60}, {Name: "low", FromHz: 60, ToHz: 250}, {Name: "low-mid", FromHz: 250, ToHz: 500},
	{Name: "mid", FromHz: 500, ToHz: 2000}, {Name: "upper-mid", FromHz: 2000, ToHz: 4000}, {Name: "presence", FromHz: 4000, ToHz: 8000},
	{Name: "air", FromHz: 8000, ToHz: highestHz},
})

func layRegisters(list []register) []register {
	for i := range list {
		list[i].X = axisX(list[i].FromHz)
		list[i].Wide = axisX(list[i].ToHz) - list[i].X
	}
	return list
}

// axisX places a frequency on the logarithmic axis, 0..boxWide; frequencies beyond its ends count as the ends.
func axisX(hz float64) float64 {
	if !(hz > lowestHz) {
		return 0
	}
	return boxWide * min(1, math.Log(hz/lowestHz)/math.Log(highestHz/lowestHz))
}

// bands holds the power in ten octave bands, in any common unit.
type bands [octaves]float64

// powerOf is a track's long-term power per octave band: its shape at the level it has while it sounds, times the share
// of the time it sounds. Silence gives zeros.
func powerOf(m *sheet.Measured) (p bands) {
	level := math.Pow(10, float64(m.ActiveRMSDBFS)/10) * m.ActiveShare
	if !(level > 0) || math.IsInf(level, 0) {
		return p
	}
	for b, db := range m.OctaveDB {
		if v := level * math.Pow(10, float64(db)/10); v > 0 && !math.IsInf(v, 0) {
			p[b] = v
		}
	}
	return p
}

func (p *bands) add(q bands) {
	for b, v := range q {
		p[b] += v
	}
}

func (p *bands) top() (top float64) {
	for _, v := range p {
		top = math.Max(top, v)
	}
	return top
}

// heights gives the height of each band, 0..1, relative to top; zeros where top is zero.
func (p *bands) heights(top float64) (h [octaves]float64) {
	if top <= 0 {
		return h
	}
	for b, v := range p {
		if v > 0 {
			h[b] = math.Max(0, 1+10*math.Log10(v/top)/rangeDB)
		}
	}
	return h
}

// ridge draws heights as a closed SVG path over the base line: a monotone cubic through the bands (Fritsch and Carlson
// 1980, SIAM J. Numer. Anal. 17), so that it never overshoots a band.
func ridge(h [octaves]float64) string {
	var b strings.Builder
	fmt.Fprintf(&b, "M0 %g ", boxHigh)
	curve(&b, h, "L")
	fmt.Fprintf(&b, " L%g %g Z", boxWide, boxHigh)
	return b.String()
}

// line draws heights as an open SVG path.
func line(h [octaves]float64) string {
	var b strings.Builder
	curve(&b, h, "M")
	return b.String()
}

func curve(b *strings.Builder, h [octaves]float64, first string) {
	const n = octaves + 2
	var x, y [n]float64
	step := boxWide / octaves
	for i, v := range h {
		x[i+1], y[i+1] = (float64(i)+centreShift)*step, v
	}
	x[n-1] = boxWide
	y[0], y[n-1] = math.Max(0, h[0]-bandEdgeDB/rangeDB), math.Max(0, h[octaves-1]-bandEdgeDB/rangeDB)
	var slope, m [n]float64 // of the pieces, at the points
	for i := range n - 1 {
		slope[i] = (y[i+1] - y[i]) / (x[i+1] - x[i])
	}
	m[0], m[n-1] = slope[0], slope[n-2]
	for i := 1; i < n-1; i++ {
		if slope[i-1]*slope[i] > 0 {
			m[i] = 2 * slope[i-1] * slope[i] / (slope[i-1] + slope[i]) // harmonic mean: monotone
		}
	}
	at := func(v float64) float64 { return boxHigh * (1 - ribbonRoom*v) }
	fmt.Fprintf(b, "%s%.1f %.1f", first, x[0], at(y[0]))
	for i := range n - 1 {
		d := (x[i+1] - x[i]) / 3
		fmt.Fprintf(b, " C%.1f %.1f %.1f %.1f %.1f %.1f", x[i]+d, at(y[i]+m[i]*d), x[i+1]-d, at(y[i+1]-m[i+1]*d), x[i+1], at(y[i+1]))
	}
}
