// Package csvsafe writes tables that a spreadsheet takes as data: cells that it would run as formulas are made text.
package csvsafe

import (
	"encoding/csv"
	"io"
	"strconv"
	"strings"
)

// triggers begin a cell that a spreadsheet may run: =, +, -, @, tab and carriage return (OWASP, "CSV Injection").
const triggers = "=+-@\t\r"

// Cell puts an apostrophe before what a spreadsheet would run. Numbers stay numbers. A cell that begins with apostrophes
// before such a character gets one more, so that Plain gives back every cell.
func Cell(s string) string {
	if risky(s) {
		return "'" + s
	}
	return s
}

// Plain takes the apostrophe away again.
func Plain(s string) string {
	if rest, ok := strings.CutPrefix(s, "'"); ok && risky(rest) {
		return rest
	}
	return s
}

func risky(s string) bool {
	bare := strings.TrimLeft(s, "'")
	if bare == "" || !strings.ContainsRune(triggers, rune(bare[0])) {
		return false
	}
	if len(bare) < len(s) {
		return true
	}
	_, err := strconv.ParseFloat(s, 64)
	return err != nil
}

// Write writes a whole table.
func Write(w io.Writer, rows [][]string) error {
	c := csv.NewWriter(w)
	for _, row := range rows {
		safe := make([]string, len(row))
		for i, cell := range row {
			safe[i] = Cell(cell)
		}
		if err := c.Write(safe); err != nil {
			return err
		}
	}
	c.Flush()
	return c.Error()
}
