package sheet_test

import (
	"fmt"
	"strings"

	"foldout/plan/sheet"
)

// A table as a spreadsheet saves it becomes a grouping.
func ExampleReadManual() {
	m, err := sheet.ReadManual(strings.NewReader("track;pair\nKick In.wav;1\nBass DI.wav;1\nLead Vox.wav;2\n"))
	if err != nil {
		fmt.Println(err)
		return
	}
	for _, row := range m.Rows {
		fmt.Printf("line %d: %s on pair %d\n", row.Line, row.Track, row.Pair)
	}
	// Output:
	// line 2: Kick In.wav on pair 1
	// line 3: Bass DI.wav on pair 1
	// line 4: Lead Vox.wav on pair 2
}
