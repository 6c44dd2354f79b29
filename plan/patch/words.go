package patch

import (
	"fmt"
	"strings"
)

// Labels are the texts for the ends of all lines, in order.
func (p *Patch) Labels() (list []string) {
	for _, l := range p.Lanes {
		for _, line := range l.Lines {
			list = append(list, clean(line.Label))
		}
	}
	if p.Return.Interface != "" {
		list = append(list, clean(p.Return.Label[0]), clean(p.Return.Label[1]))
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

// clean keeps control characters out of terminals and drawings: names of files may hold any.
func clean(s string) string {
	return strings.Map(func(r rune) rune {
		switch {
		case r == '\t' || r == '\n' || r == '\r':
			return ' '
		case r < ' ' || r >= 0x7f && r < 0xa0 || r == 0xfffe || r == 0xffff || r >= 0x202a && r <= 0x202e || r >= 0x2066 && r <= 0x2069:
			return -1
		}
		return r
	}, strings.ToValidUTF8(s, "\ufffd"))
}
