package report

import (
	"image/color"
	"io"
	"math"
	"strconv"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"

	"foldout/plan/sheet"
)

// Colours of Okabe and Ito (2008), told apart by the colour-blind; lines differ in dashes and marks too, for black and
// white.
var (
	inkBlue      = color.RGBA{0, 114, 178, 255}
	inkVermilion = color.RGBA{213, 94, 0, 255}
)

// sweepPanel is one of the four small pictures of a sweep.
type sweepPanel struct {
	title string
	value func(p *sheet.SweepPoint) float64
}

// known tells whether any number of pairs has a value.
func (s sweepPanel) known(w *sheet.Sweep) bool {
	for i := range w.Points {
		if v := s.value(&w.Points[i]); !math.IsInf(v, 0) && !math.IsNaN(v) {
			return true
		}
	}
	return false
}

var sweepPanels = [4]sweepPanel{
	{"difference left within pairs, %", func(p *sheet.SweepPoint) float64 { return 100 * p.SpreadPC }},
	{"overlap of registers across pairs, %", func(p *sheet.SweepPoint) float64 { return 100 * p.Figures.OverlapAcross }},
	{"loudest pair re the whole mix, dB", func(p *sheet.SweepPoint) float64 { return float64(p.Figures.LoudestPairDB) }},
	{"tracks beside another family, %", func(p *sheet.SweepPoint) float64 { return 100 * p.Mixed }},
}

// DrawSweep draws a sweep: up to four panels over the number of pairs, the recommendation marked. What was not measured has
// no panel. 200 x 140 mm.
func DrawSweep(out io.Writer, w *sheet.Sweep) error {
	plots := [][]*plot.Plot{make([]*plot.Plot, 2), make([]*plot.Plot, 2)}
	n := 0
	for _, what := range sweepPanels {
		if !what.known(w) {
			continue
		}
		p, err := panel(w, what)
		if err != nil {
			return err
		}
		plots[n/2][n%2] = p
		n++
	}
	canvas := vgsvg.New(200*vg.Millimeter, 140*vg.Millimeter)
	tiles := draw.Tiles{Rows: 2, Cols: 2, PadX: 6 * vg.Millimeter, PadY: 5 * vg.Millimeter, PadTop: 3 * vg.Millimeter, PadBottom: 3 * vg.Millimeter, PadLeft: 3 * vg.Millimeter, PadRight: 3 * vg.Millimeter}
	for i, row := range plot.Align(plots, tiles, draw.New(canvas)) {
		for j, c := range row {
			if plots[i][j] != nil {
				plots[i][j].Draw(c)
			}
		}
	}
	_, err := canvas.WriteTo(out)
	return err
}

// shortTicks are the usual ticks without needless decimals.
type shortTicks struct{ plot.DefaultTicks }

func (s shortTicks) Ticks(from, to float64) []plot.Tick {
	ticks := s.DefaultTicks.Ticks(from, to)
	for i, t := range ticks {
		if t.Label != "" {
			ticks[i].Label = strconv.FormatFloat(t.Value, 'g', 5, 64)
		}
	}
	return ticks
}

func panel(w *sheet.Sweep, what sweepPanel) (*plot.Plot, error) {
	p := plot.New()
	p.Title.Text = what.title
	p.X.Label.Text = "pairs"
	var all, chosen plotter.XYs
	var ticks []plot.Tick
	for i := range w.Points {
		v := what.value(&w.Points[i])
		x := float64(w.Points[i].Pairs)
		label := ""
		if len(w.Points) <= 16 || w.Points[i].Pairs%4 == 0 {
			label = strconv.Itoa(w.Points[i].Pairs)
		}
		ticks = append(ticks, plot.Tick{Value: x, Label: label})
		if math.IsInf(v, 0) || math.IsNaN(v) {
			continue
		}
		all = append(all, plotter.XY{X: x, Y: v})
		if w.Points[i].Pairs == w.Recommend {
			chosen = append(chosen, plotter.XY{X: x, Y: v})
		}
	}
	p.X.Tick.Marker = plot.ConstantTicks(ticks)
	p.Y.Tick.Marker = shortTicks{}
	grid := plotter.NewGrid()
	grid.Vertical.Width = 0
	grid.Horizontal.Color = color.RGBA{220, 220, 220, 255}
	p.Add(grid)
	if len(all) == 0 {
		return p, nil
	}
	line, points, err := plotter.NewLinePoints(all)
	if err != nil {
		return nil, err
	}
	line.Color, line.Width = inkBlue, vg.Points(1.5)
	points.Color, points.Shape, points.Radius = inkBlue, draw.CircleGlyph{}, vg.Points(2.2)
	p.Add(line, points)
	if len(chosen) > 0 {
		mark, err := plotter.NewScatter(chosen)
		if err != nil {
			return nil, err
		}
		mark.Color, mark.Shape, mark.Radius = inkVermilion, draw.RingGlyph{}, vg.Points(6)
		p.Add(mark)
	}
	if all[0].X == all[len(all)-1].X {
		p.X.Min, p.X.Max = all[0].X-1, all[0].X+1
	}
	return p, nil
}
