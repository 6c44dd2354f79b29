package lesson

import (
	"fmt"
	"image/color"
	"io"
	"math"

	"gonum.org/v1/plot"
	"gonum.org/v1/plot/plotter"
	"gonum.org/v1/plot/vg"
	"gonum.org/v1/plot/vg/draw"
	"gonum.org/v1/plot/vg/vgsvg"
)

// Colours of Okabe and Ito (2008); shapes and dashes say the same in black and white.
var (
	inkBlue      = color.RGBA{0, 114, 178, 255}
	inkVermilion = color.RGBA{213, 94, 0, 255}
	inkGrey      = color.RGBA{220, 220, 220, 255}
)

// leastShown is the smallest modulation index that the picture tells from none.
const leastShown = 1e-5

// DrawModulation draws the modulation of every track here and shuffled, on a scale of equal ratios.
func (l *Lesson) DrawModulation(w io.Writer) error {
	p := plot.New()
	p.Title.Text = "modulated by the low notes of its neighbours"
	p.X.Scale, p.X.Tick.Marker = plot.LogScale{}, plot.ConstantTicks([]plot.Tick{{Value: 1e-5, Label: "0"}, {Value: 1e-4, Label: "0.01 %"}, {Value: 1e-3, Label: "0.1 %"}, {Value: 1e-2, Label: "1 %"}, {Value: HeardFrom, Label: "5 %"}, {Value: 0.3, Label: "30 %"}})
	p.X.Min, p.X.Max = leastShown, 0.3
	var here, shuffled plotter.XYs
	var names []plot.Tick
	for n, t := range l.Tracks {
		y := float64(len(l.Tracks) - n)
		here = append(here, plotter.XY{X: math.Max(leastShown, t.Here.Fast), Y: y})
		shuffled = append(shuffled, plotter.XY{X: math.Max(leastShown, t.Shuffled.Fast), Y: y})
		names = append(names, plot.Tick{Value: y, Label: fmt.Sprintf("%d  %s", t.Pair, t.Name)})
	}
	p.Y.Tick.Marker, p.Y.Min, p.Y.Max = plot.ConstantTicks(names), 0, float64(len(l.Tracks)+1)
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Width = inkGrey, 0
	p.Add(grid)
	if err := line(p, plotter.XYs{{X: HeardFrom, Y: p.Y.Min}, {X: HeardFrom, Y: p.Y.Max}}, inkVermilion, true); err != nil {
		return err
	}
	if err := marks(p, shuffled, draw.RingGlyph{}, inkVermilion); err != nil {
		return err
	}
	if err := marks(p, here, draw.CircleGlyph{}, inkBlue); err != nil {
		return err
	}
	return write(w, p, vg.Length(30+5*len(l.Tracks))*vg.Millimeter)
}

// DrawAdded draws what the channels add re the masked threshold, against drive, here and shuffled.
func (l *Lesson) DrawAdded(w io.Writer) error {
	p := plot.New()
	p.Title.Text = "added by all channels, re what the mix masks, dB"
	p.X.Label.Text = "drive re the operating level, dB"
	var here, shuffled plotter.XYs
	for _, d := range l.Drives {
		if !math.IsInf(d.RatioDB, 0) {
			here = append(here, plotter.XY{X: d.DriveDB, Y: d.RatioDB})
		}
		if !math.IsInf(d.Shuffled, 0) {
			shuffled = append(shuffled, plotter.XY{X: d.DriveDB, Y: d.Shuffled})
		}
	}
	grid := plotter.NewGrid()
	grid.Horizontal.Color, grid.Vertical.Color = inkGrey, inkGrey
	p.Add(grid)
	if err := line(p, plotter.XYs{{X: leastDriveDB, Y: 0}, {X: mostDriveDB, Y: 0}}, inkVermilion, false); err != nil {
		return err
	}
	for _, x := range []struct {
		at     plotter.XYs
		dashed bool
	}{{here, false}, {shuffled, true}} {
		if len(x.at) == 0 {
			continue
		}
		if err := line(p, x.at, inkBlue, x.dashed); err != nil {
			return err
		}
	}
	return write(w, p, 90*vg.Millimeter)
}

func line(p *plot.Plot, at plotter.XYs, ink color.Color, dashed bool) error {
	l, err := plotter.NewLine(at)
	if err != nil {
		return err
	}
	l.Color, l.Width = ink, vg.Points(1.4)
	if dashed {
		l.Dashes = []vg.Length{vg.Points(5), vg.Points(3)}
	}
	p.Add(l)
	return nil
}

func marks(p *plot.Plot, at plotter.XYs, shape draw.GlyphDrawer, ink color.Color) error {
	if len(at) == 0 {
		return nil
	}
	s, err := plotter.NewScatter(at)
	if err != nil {
		return err
	}
	s.Shape, s.Color, s.Radius = shape, ink, vg.Points(3)
	p.Add(s)
	return nil
}

func write(w io.Writer, p *plot.Plot, high vg.Length) error {
	canvas := vgsvg.New(170*vg.Millimeter, high)
	p.Draw(draw.New(canvas))
	_, err := canvas.WriteTo(w)
	return err
}
