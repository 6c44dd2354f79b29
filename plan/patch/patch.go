// Package patch follows every signal of a sheet through a rig: track, bus, pair, line outputs, connector and pins,
// summing inputs, summing output, return inputs, print track.
//
// In go a sheet.Sheet and a rig.Rig; out comes a Patch: the lines with their contacts, the cables to buy or label,
// notes and cautions, as text, CSV, JSON and a drawing (SVG). Pins of the 25-way D-type are those of AES59-2012
// (analogue), of the XLR those of AES14-1992. A sheet that contradicts the rig gives no Patch but rig.Faults, one clear
// line for each contradiction.
package patch

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"foldout/plan/rig"
	"foldout/plan/sheet"
)

// SchemaVersion is the version of the JSON layout of a Patch.
const SchemaVersion = 1

// Patch is every hop from track to print.
type Patch struct {
	Schema    int           `json:"schema"`
	Title     string        `json:"title"`
	Rig       string        `json:"rig"`
	Alignment rig.Alignment `json:"alignment"`
	Unit      string        `json:"summing_unit"`
	Lanes     []Lane        `json:"pairs"`
	Return    Return        `json:"return"`
	Cables    []Cable       `json:"cables"`
	Notes     []string      `json:"notes"`    // what to know about this patch: left over, taken for granted, traps
	Cautions  []string      `json:"cautions"` // the same on every sheet
}

// Lane is one pair with all that hangs on it.
type Lane struct {
	Number    int      `json:"pair"` // counted from 1, as on the sheet
	Name      string   `json:"name"`
	Buses     []Bus    `json:"buses"`
	Interface string   `json:"interface"`
	Lines     [2]Line  `json:"lines"` // left, right
	Free      bool     `json:"free"`  // no track is on it
	Tracks    []string `json:"tracks"`
}

// Bus is one bus of a pair and the tracks that feed it.
type Bus struct {
	Name   string   `json:"name"`
	Tracks []string `json:"tracks"` // files, as on the sheet
}

// Line is one balanced line from a line output to a summing input.
type Line struct {
	Side         string `json:"side"` // L or R
	Output       int    `json:"output"`
	From         End    `json:"from"`
	SummingInput int    `json:"summing_input"`
	To           End    `json:"to"`
	Label        string `json:"label"` // for both ends of the cable
}

// Return is the way back. Interface "" means that the rig does not state it.
type Return struct {
	Interface  string    `json:"interface"`
	Inputs     [2]int    `json:"inputs"`
	From       [2]End    `json:"from"` // summing output, left and right
	To         [2]End    `json:"to"`
	PrintTrack string    `json:"print_track"`
	Label      [2]string `json:"label"`
}

var sides = [2]string{"L", "R"}

// Make follows the sheet through the rig. A nil rig stands for rig.Plain with as many pairs as the sheet has. Pairs
// meet in order; a sheet whose outputs are not simply 1/2, 3/4, ... is taken at its word. Contradictions come back
// together as rig.Faults.
func Make(sheet *sheet.Sheet, r *rig.Rig) (*Patch, error) {
	if sheet == nil || len(sheet.Pairs) == 0 {
		return nil, fmt.Errorf("the sheet has no pairs to patch")
	}
	if r == nil {
		sheet, r = Plain(sheet)
	}
	free, left, err := r.Pairs()
	if err != nil {
		return nil, err
	}
	p := &Patch{Schema: SchemaVersion, Title: sheet.Title, Rig: r.Name, Alignment: r.Alignment, Unit: r.Summing.Name, Cautions: Cautions}
	used, notes, faults := meet(sheet, r, free)
	if len(faults) > 0 {
		return nil, faults
	}
	for n, sp := range sheet.Pairs {
		if used[n].Interface == "" {
			notes = append(notes, fmt.Sprintf("pair %d (%s) is free and has no outputs in this rig", n+1, sp.Name))
			continue
		}
		p.Lanes = append(p.Lanes, p.lane(n+1, sp, used[n], r))
	}
	p.comeBack(r)
	if faults := p.check(r); len(faults) > 0 {
		return nil, faults
	}
	p.Cables = p.cables(r)
	p.Notes = append(p.Notes, short(p.Cables)...)
	p.Notes = append(p.Notes, notes...)
	p.Notes = append(p.Notes, spare(free, used)...)
	p.Notes = append(p.Notes, left...)
	p.Notes = append(p.Notes, p.warn(r)...)
	p.Notes = append(p.Notes, r.Assumed...)
	return p, nil
}

// Empty is the patch of a rig without a sheet: every free pair, nothing on it yet.
func Empty(r *rig.Rig) (*Patch, error) {
	pairs, _, err := r.Pairs()
	if err != nil {
		return nil, err
	}
	doc := &sheet.Sheet{Title: r.Name}
	for n, p := range pairs {
		doc.Pairs = append(doc.Pairs, sheet.Pair{Name: fmt.Sprintf("Pair %d", n+1), Outputs: p.Outputs})
	}
	return Make(doc, r)
}

func (p *Patch) lane(number int, sp sheet.Pair, at rig.Pair, r *rig.Rig) Lane {
	l := Lane{Number: number, Name: sp.Name, Interface: at.Interface, Free: len(sp.Tracks) == 0, Buses: []Bus{}, Tracks: []string{}}
	for _, t := range sp.Tracks {
		k := slices.IndexFunc(l.Buses, func(b Bus) bool { return b.Name == t.Bus })
		if k < 0 {
			k = len(l.Buses)
			l.Buses = append(l.Buses, Bus{Name: t.Bus})
		}
		l.Buses[k].Tracks = append(l.Buses[k].Tracks, t.File)
		l.Tracks = append(l.Tracks, t.File)
	}
	box, _ := r.Interface(at.Interface)
	out := "out"
	if len(r.Interfaces) > 1 { // whose outputs
		out = at.Interface
	}
	for side := range sides {
		l.Lines[side] = Line{
			Side: sides[side], Output: at.Outputs[side], From: end(box.Connector, at.Outputs[side]),
			SummingInput: at.SummingInputs[side], To: end(r.Summing.Connector, at.SummingInputs[side]),
			Label: fmt.Sprintf("P%d %s | %s %d > in %d | %s", number, sides[side], out, at.Outputs[side], at.SummingInputs[side], sp.Name),
		}
	}
	return l
}

func (p *Patch) comeBack(r *rig.Rig) {
	if !r.Return.Stated() {
		return
	}
	box, _ := r.Interface(r.Return.Interface)
	in := "in"
	if len(r.Interfaces) > 1 {
		in = r.Return.Interface + " in"
	}
	p.Return = Return{Interface: r.Return.Interface, Inputs: r.Return.Inputs, PrintTrack: r.Return.PrintTrack}
	for side := range sides {
		p.Return.From[side] = end(r.Summing.OutputConnector, side+1)
		p.Return.To[side] = end(box.InputConnector, r.Return.Inputs[side])
		p.Return.Label[side] = fmt.Sprintf("RET %s | sum out > %s %d | %s", sides[side], in, r.Return.Inputs[side], r.Return.PrintTrack)
	}
}

// trackName is a file's name without folder and ending.
func trackName(file string) string {
	base := path.Base(strings.ReplaceAll(file, "\\", "/"))
	if name := strings.TrimSuffix(base, path.Ext(base)); name != "" {
		return name
	}
	return base
}

// Plain is the rig that is assumed for a sheet where none is given. The outputs of a sheet that was made for several interfaces
// mean nothing to it; that sheet is returned with plain ones.
func Plain(doc *sheet.Sheet) (*sheet.Sheet, *rig.Rig) {
	if slices.ContainsFunc(doc.Pairs, func(p sheet.Pair) bool { return p.Device != doc.Pairs[0].Device }) {
		doc = doc.WithoutRig()
	}
	return doc, rig.Plain(len(doc.Pairs))
}
