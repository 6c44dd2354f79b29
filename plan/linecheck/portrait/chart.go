package portrait

import (
	"fmt"
	"math"
	"strings"

	"foldout/features/align"
	"foldout/plan/linecheck/trace"
)

// chart is a drawing over frequency, 20 Hz to 20 kHz on a logarithmic axis. Lengths are in units of the drawing.
type chart struct {
	Width, Height int
	Left, Top     int
	Right, Bottom int // where the field ends
	Curves        []curve
	Levels        []mark
	Frequencies   []mark
	Label, What   string
}

type curve struct {
	Name, Points, Dash string
	Class              int     // p1 to p7, the colours of the report
	EndY               float64 // where its name stands
	first              string  // its own name, and how many more stand for it there
	more               int
}

type mark struct {
	At   float64
	Text string
}

const (
	chartWidth, chartHeight                = 960, 340
	leftEdge, topEdge, rightEdge, baseEdge = 52, 14, 900, 300
)

var dashes = []string{"", "7 3", "2 3", "9 3 2 3", "1 2", "12 4", "5 5"}

func newChart(label, what string, lowest, highest, step float64) chart {
	c := chart{Width: chartWidth, Height: chartHeight, Left: leftEdge, Top: topEdge, Right: rightEdge, Bottom: baseEdge, Label: label, What: what}
	for _, f := range []struct {
		hz   float64
		text string
	}{{20, "20"}, {50, "50"}, {100, "100"}, {200, "200"}, {500, "500"}, {1000, "1k"}, {2000, "2k"}, {5000, "5k"}, {10000, "10k"}, {20000, "20k"}} {
		c.Frequencies = append(c.Frequencies, mark{x(f.hz), f.text})
	}
	for db := lowest; db <= highest+step/100; db += step {
		text := strings.ReplaceAll(fmt.Sprintf("%+g", db), "-", "−")
		if math.Abs(db) < step/100 {
			text = "0"
		}
		c.Levels = append(c.Levels, mark{y(db, lowest, highest), text})
	}
	return c
}

func x(hz float64) float64 {
	return leftEdge + (rightEdge-leftEdge)*math.Log(hz/20)/math.Log(1000)
}

func y(db, lowest, highest float64) float64 {
	share := (min(max(db, lowest), highest) - lowest) / (highest - lowest)
	return baseEdge - (baseEdge-topEdge)*share
}

func (c *chart) add(name string, n int, points []trace.Point, lowest, highest float64) {
	if len(points) == 0 {
		return
	}
	var b strings.Builder
	last := 0.0
	for _, p := range points {
		last = y(float64(p.DB), lowest, highest)
		fmt.Fprintf(&b, "%.1f,%.1f ", x(min(max(p.Hz, 20), 20000)), last)
	}
	for i := range c.Curves { // names that would lie on one another are counted at the first
		if other := &c.Curves[i]; other.Name != "" && math.Abs(other.EndY-last) < 11 {
			other.more++
			other.Name, name = fmt.Sprintf("%s +%d", other.first, other.more), ""
			break
		}
	}
	c.Curves = append(c.Curves, curve{Name: name, Points: strings.TrimSpace(b.String()), Dash: dashes[n%len(dashes)], Class: n%7 + 1, EndY: last, first: name})
}

// responses draws the response of every output that is alive.
func responses(r *trace.Result) chart {
	reach := 1.0
	for _, c := range r.Channels {
		for _, p := range c.Response {
			if p.Hz >= 25 && p.Hz <= 18000 {
				reach = max(reach, math.Abs(float64(p.DB)))
			}
		}
	}
	limit := 2.0
	for _, l := range []float64{3, 6, 12, 24} {
		if reach > limit {
			limit = l
		}
	}
	c := newChart("dB relative to 1 kHz", "Frequency response of every output", -limit, limit, limit/4)
	for n, ch := range r.Channels {
		c.add(fmt.Sprint(ch.Output), n, ch.Response, -limit, limit)
	}
	return c
}

// harmonics draws the middle of the outputs' harmonics.
func harmonics(r *trace.Result) chart {
	const lowest, highest = -120.0, 0.0
	c := newChart("dB relative to the fundamental", "Harmonics 2 to 5 over the frequency of the fundamental, the middle of all outputs", lowest, highest, 20)
	for n, order := range []int{2, 3, 4, 5} {
		c.add(fmt.Sprintf("H%d", order), n, middleHarmonic(r, order), lowest, highest)
	}
	return c
}

// middleHarmonic is the middle of the outputs' curves of one order.
func middleHarmonic(r *trace.Result, order int) []trace.Point {
	byHz := map[float64][]float64{}
	var grid []float64
	for _, ch := range r.Channels {
		for _, h := range ch.Harmonics {
			if h.Order != order {
				continue
			}
			for _, p := range h.Points {
				if byHz[p.Hz] == nil {
					grid = append(grid, p.Hz)
				}
				byHz[p.Hz] = append(byHz[p.Hz], float64(p.DB))
			}
		}
	}
	var out []trace.Point
	for _, hz := range grid {
		out = append(out, point(hz, align.Median(byHz[hz])))
	}
	return out
}
