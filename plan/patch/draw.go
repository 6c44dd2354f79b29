package patch

import (
	"fmt"
	"strings"

	"foldout/plan/curves"
	"foldout/plan/sheet"
)

// Colours are those of Okabe and Ito (2008), in an order that sets neighbours apart; the yellow is left out, for it
// does not show as a line on paper. Colours repeat after seven pairs: every line carries its pair's number, and left
// and right differ by pattern.
var okabeIto = []string{"#0072b2", "#d55e00", "#009e73", "#cc79a7", "#56b4e9", "#e69f00", "#000000"}

// Columns and measures of the drawing, in user units (chosen by looking at printed A4 landscape and A3 sheets).
const (
	sheetWide  = 1500
	margin     = 30
	cardX      = margin
	cardWide   = 420
	boxX       = 500 // interface
	boxWide    = 150
	unitX      = 1130 // summing unit
	unitWide   = 150
	laneGap    = 16
	lineGap    = 44
	headHigh   = 92
	smallText  = 12
	smallLine  = 15
	cardIndent = 46
	bottomText = 13
	bottomLine = 19
)

// drawing is the patch laid out: everything has its place, the template only writes it down.
type drawing struct {
	Width, Height                   int
	Title, Sub                      string
	Lanes                           []laneDrawing
	Boxes                           []boxDrawing
	Unit                            boxDrawing
	Return                          *returnDrawing
	Sections                        []sectionDrawing
	BoxX, UnitX, UnitRight, FromBox int
}

type laneDrawing struct {
	Y, High, Number int
	Name, Colour    string
	Text            []textDrawing
	Lines           []lineDrawing
	CardX, CardWide int
	Free            bool
}

type textDrawing struct {
	X, Y int
	Bold bool
	Text string
}

type lineDrawing struct {
	Y                     int
	Side, Tag, Dash       string
	Output, Input         int
	FromPlug, FromContact string
	ToPlug, ToContact     string
}

type boxDrawing struct {
	X, Y, Wide, High int
	Name             []string
	Foot             string
}

type returnDrawing struct {
	Lines      []returnLine
	Box, Track boxDrawing
}

type returnLine struct {
	Path, Dash, Tag, Side string
	Y, UnitY, Input       int
	Plug, Contact         string
	OutPlug, OutContact   string
}

type sectionDrawing struct {
	Title string
	Y     int
	Text  []textDrawing
}

// layOut gives everything its place. With lists, cables, notes and cautions stand below the drawing.
func (p *Patch) layOut(lists bool) *drawing {
	d := &drawing{
		Width: sheetWide, Title: clip(sheet.Printable(p.Title), sheetWide-2*margin, 26*boldWider), BoxX: boxX, UnitX: unitX, UnitRight: unitX + unitWide, FromBox: boxX + boxWide,
		Sub: clip(fmt.Sprintf("through %s  |  %s  |  solid line: left, dashed line: right", clip(sheet.Printable(p.Rig), sheetWide/2, 14), curves.Signs(p.Alignment.String())), sheetWide-2*margin, 14),
	}
	y := headHigh
	for _, l := range p.Lanes {
		lane := p.layLane(l, y)
		d.Lanes = append(d.Lanes, lane)
		d.box(l.Interface, lane)
		y += lane.High + laneGap
	}
	d.Unit = boxDrawing{X: unitX, Y: headHigh, Wide: unitWide, High: y - laneGap - headHigh, Name: name(p.Unit, unitWide-44, 15), Foot: "summing unit"}
	if p.Return.Interface != "" {
		y = p.layReturn(d, y)
	}
	if lists {
		y = p.layLists(d, y+10)
	}
	d.Height = y + margin
	return d
}

func (p *Patch) layLane(l Lane, y int) laneDrawing {
	lane := laneDrawing{Y: y, Number: l.Number, Name: clip(sheet.Printable(l.Name), cardWide-cardIndent-14, 16*boldWider), Colour: okabeIto[(l.Number-1)%len(okabeIto)], CardX: cardX, CardWide: cardWide, Free: l.Free}
	ty := y + 44
	say := func(bold bool, text string) {
		lane.Text = append(lane.Text, textDrawing{X: cardX + cardIndent, Y: ty, Bold: bold, Text: text})
		ty += smallLine
	}
	for _, b := range l.Buses {
		say(true, clip("bus "+sheet.Printable(b.Name), cardWide-cardIndent-14, smallText*boldWider))
		var names []string
		for _, t := range b.Tracks {
			names = append(names, sheet.Printable(trackName(t)))
		}
		for _, part := range wrap(strings.Join(names, ", "), cardWide-cardIndent-14, smallText) {
			say(false, part)
		}
	}
	if l.Free {
		say(false, "free: nothing is on it")
	}
	lane.High = max(96, ty-y)
	middle := y + lane.High/2
	for side, line := range l.Lines {
		ld := lineDrawing{
			Y: middle - lineGap/2 + side*lineGap, Side: line.Side, Tag: fmt.Sprintf("P%d %s", l.Number, line.Side), Output: line.Output, Input: line.SummingInput,
			FromPlug: line.From.String(), FromContact: line.From.Contacts(), ToPlug: line.To.String(), ToContact: line.To.Contacts(),
		}
		if side == 1 {
			ld.Dash = "9 5"
		}
		lane.Lines = append(lane.Lines, ld)
	}
	return lane
}

// box lengthens the interface's box down to this lane, or opens a new one where another interface begins.
func (d *drawing) box(device string, lane laneDrawing) {
	label := name(device, boxWide-44, 15)
	if n := len(d.Boxes); n > 0 && strings.Join(d.Boxes[n-1].Name, "\n") == strings.Join(label, "\n") {
		d.Boxes[n-1].High = lane.Y + lane.High - d.Boxes[n-1].Y
		return
	}
	d.Boxes = append(d.Boxes, boxDrawing{X: boxX, Y: lane.Y, Wide: boxWide, High: lane.High, Name: label, Foot: "line outputs"})
}

// layReturn draws the way back below the lanes: out of the unit on the right, to the return inputs, to the print track.
func (p *Patch) layReturn(d *drawing, y int) int {
	ret, high := &returnDrawing{}, 100
	y += 26
	ret.Box = boxDrawing{X: boxX, Y: y, Wide: boxWide, High: high, Name: name(p.Return.Interface, boxWide-44, 15), Foot: "inputs"}
	ret.Track = boxDrawing{X: cardX, Y: y, Wide: cardWide, High: high, Name: name(p.Return.PrintTrack, cardWide-40, 15), Foot: "print track: record here, send it nowhere"}
	bottom := d.Unit.Y + d.Unit.High
	for side := range sides {
		l := returnLine{
			Y: y + 28 + side*lineGap, Side: sides[side], Tag: "RET " + sides[side], Input: p.Return.Inputs[side],
			Plug: p.Return.To[side].String(), Contact: p.Return.To[side].Contacts(), OutPlug: p.Return.From[side].String(), OutContact: p.Return.From[side].Contacts(),
		}
		out := d.UnitRight + 50 + 40*side // the right one leaves above and runs outside, so that the two never cross
		l.UnitY = bottom - 24 - 34*side
		l.Path = fmt.Sprintf("M%d %d H%d Q%d %d %d %d V%d Q%d %d %d %d H%d", d.UnitRight, l.UnitY, out-10, out, l.UnitY, out, l.UnitY+10, l.Y-10, out, l.Y, out-10, l.Y, d.FromBox)
		if side == 1 {
			l.Dash = "9 5"
		}
		ret.Lines = append(ret.Lines, l)
	}
	d.Return = ret
	return y + high + laneGap
}

func (p *Patch) layLists(d *drawing, y int) int {
	var cables []string
	for _, c := range p.Cables {
		cables = append(cables, fmt.Sprintf("%d x %s%s: %s \u2192 %s (%s)", c.Count, sheet.Printable(c.Kind), c.StockWords(), sheet.Printable(c.From), sheet.Printable(c.To), c.Carry))
	}
	for _, s := range []struct {
		title string
		lines []string
	}{{"Cautions", p.Cautions}, {"Cables", cables}, {"Notes", p.Notes}} {
		if len(s.lines) == 0 {
			continue
		}
		y += 26
		sec := sectionDrawing{Title: s.title, Y: y}
		for _, line := range s.lines {
			for n, part := range wrap(sheet.Printable(line), sheetWide-2*margin-30, bottomText) {
				y += bottomLine
				x := margin + 16
				if n == 0 {
					part = "\u2022 " + part
				} else {
					x += 11
				}
				sec.Text = append(sec.Text, textDrawing{X: x, Y: y, Text: part})
			}
		}
		d.Sections = append(d.Sections, sec)
		y += 8
	}
	return y
}
