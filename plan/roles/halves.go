package roles

import (
	"path"

	"foldout/plan/sheet"
)

// Halves writes into a sheet which mono files are, by their names, sides of one stereo source. Two files are halves of
// one if their names differ in nothing but the side and they lie in one folder.
func Halves(doc *sheet.Sheet) {
	var files []string
	var halves []*sheet.Half // nil for a stereo file
	for p := range doc.Pairs {
		for i := range doc.Pairs[p].Tracks {
			t := &doc.Pairs[p].Tracks[i]
			h := &t.Half
			if t.Measured.Channels > 1 {
				h = nil
			}
			files, halves = append(files, t.File), append(halves, h)
		}
	}
	for i := range doc.SetAside {
		files, halves = append(files, doc.SetAside[i].File), append(halves, &doc.SetAside[i].Half)
	}
	hints := Parse(files)
	mate := Mates(hints, func(i int) string {
		if halves[i] == nil {
			return ""
		}
		return path.Dir(files[i])
	})
	for i, h := range hints {
		if h.Side == "" || halves[i] == nil {
			continue
		}
		*halves[i] = sheet.Half{Side: h.Side}
		if mate[i] >= 0 {
			halves[i].Other = files[mate[i]]
		}
	}
}
