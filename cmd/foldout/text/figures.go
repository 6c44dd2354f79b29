package text

import (
	"fmt"

	"foldout/plan/sheet"
)

// writeFigures writes figures of merit side by side, one column per fold.
func writeFigures(p *printer, heads []string, figures ...sheet.Figures) {
	row := fmt.Sprintf("  %-34s", "")
	for _, h := range heads {
		row += fmt.Sprintf("%14s", h)
	}
	p.line("%s", row)
	var all []*sheet.Figures
	for i := range figures {
		all = append(all, &figures[i])
	}
	for _, f := range sheet.ShownRows(all...) {
		row := fmt.Sprintf("  %-34s", f.Name)
		for i := range figures {
			row += fmt.Sprintf("%14s", f.Text(&figures[i]))
		}
		p.line("%s", row)
	}
}
