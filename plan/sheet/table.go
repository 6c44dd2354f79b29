package sheet

import (
	"encoding/csv"
	"errors"
	"fmt"
	"io"
	"slices"
	"strings"
)

// tableRow is a row of a table with the line it begins on, from 1. Empty lines are no rows.
type tableRow struct {
	line  int
	cells []string
}

// readTable takes a table apart as spreadsheets write it (RFC 4180, with any separator). If its quotation marks do not obey that, it
// is taken as people type it: a mark within a cell is a sign like any other (12" Tom). Then a cell that runs over lines is an
// error, for a mark that is not closed would swallow the rows below it; the rows before it are returned with the error.
func readTable(text string, comma rune) ([]tableRow, error) {
	rows, err := takeApart(text, comma, false)
	if err == nil {
		return rows, nil
	}
	return takeApart(text, comma, true)
}

func takeApart(text string, comma rune, lazy bool) (rows []tableRow, err error) {
	r := csv.NewReader(strings.NewReader(text))
	r.Comma, r.LazyQuotes, r.FieldsPerRecord, r.TrimLeadingSpace = comma, lazy, -1, comma != '\t'
	for {
		cells, err := r.Read()
		if errors.Is(err, io.EOF) {
			return rows, nil
		}
		if err != nil {
			return rows, fmt.Errorf("faulty table: %w", err)
		}
		line, _ := r.FieldPos(0)
		if i := slices.IndexFunc(cells, func(c string) bool { return strings.Contains(c, "\n") }); lazy && i >= 0 {
			line, _ = r.FieldPos(i)
			first, _, _ := strings.Cut(cells[i], "\n")
			return rows, fmt.Errorf("line %d: a quotation mark opens the cell %q and is not closed at its end; close it or take it away", line, cut(first, 40))
		}
		rows = append(rows, tableRow{line, cells})
	}
}
