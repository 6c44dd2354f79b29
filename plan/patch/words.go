package patch

import (
	"fmt"

	"foldout/plan/sheet"
)

// Labels are the texts for the ends of all lines, in order.
func (p *Patch) Labels() (list []string) {
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			list = append(list, sheet.Printable(line.Label))
		}
	}
	if p.Return.Interface != "" {
		list = append(list, sheet.Printable(p.Return.Label[0]), sheet.Printable(p.Return.Label[1]))
	}
	return list
}

// StockWords says how many of a cable are there and how many to buy, where the rig says it.
func (c Cable) StockWords() string {
	if c.Have < 0 {
		return ""
	}
	return fmt.Sprintf(" (have %d, buy %d)", c.Have, c.Buy())
}
