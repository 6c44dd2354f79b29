package patch

import (
	"io"
	"strconv"
	"strings"

	"foldout/features/csvsafe"
)

// WriteCSV writes one row for each line: left and right of every pair, then of the return. Tracks and buses of a pair
// stand in one cell, parted by "; ".
func (p *Patch) WriteCSV(w io.Writer) error {
	rows := [][]string{{
		"pair", "pair_name", "buses", "tracks", "side", "from_device", "from_channel", "from_plug", "from_hot", "from_cold", "from_ground",
		"to_device", "to_channel", "to_plug", "to_hot", "to_cold", "to_ground", "print_track", "label",
	}}
	for _, l := range p.Lanes {
		var buses []string
		for _, b := range l.Buses {
			buses = append(buses, b.Name)
		}
		for _, line := range l.Lines {
			row := []string{strconv.Itoa(l.Number), l.Name, strings.Join(buses, "; "), strings.Join(l.Tracks, "; "), line.Side}
			row = append(row, l.Interface, strconv.Itoa(line.Output))
			row = append(row, cells(line.From)...)
			row = append(row, p.Unit, strconv.Itoa(line.SummingInput))
			row = append(row, cells(line.To)...)
			rows = append(rows, append(row, "", line.Label))
		}
	}
	if p.Return.Interface != "" {
		for side := range sides {
			row := []string{"return", "", "", "", sides[side], p.Unit, strconv.Itoa(side + 1)}
			row = append(row, cells(p.Return.From[side])...)
			row = append(row, p.Return.Interface, strconv.Itoa(p.Return.Inputs[side]))
			row = append(row, cells(p.Return.To[side])...)
			rows = append(rows, append(row, p.Return.PrintTrack, p.Return.Label[side]))
		}
	}
	return csvsafe.Write(w, rows)
}

func cells(e End) []string { return []string{e.String(), e.Hot, e.Cold, e.Ground} }
