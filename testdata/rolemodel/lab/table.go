package lab

import (
	"bytes"
	"encoding/csv"
	"fmt"
	"strconv"
)

// Table is the model as the CSV that package ears reads.
func (m *Model) Table(s *Set) []byte {
	var b bytes.Buffer
	w := csv.NewWriter(&b)
	roles := len(Roles)
	row := func(name string, centre, spread float64, weights []float64) {
		out := []string{name, strconv.FormatFloat(centre, 'g', 4, 64), strconv.FormatFloat(spread, 'g', 4, 64)}
		for _, v := range weights {
			out = append(out, fmt.Sprintf("%.3f", v+0)) // no minus before zero
		}
		w.Write(out)
	}
	w.Write(append([]string{"element", "centre", "spread"}, Roles...))
	row("bias", 0, 1, m.Weights[2*m.Elements*roles:])
	for e, name := range s.Names {
		row(name, s.Centre[e], s.Spread[e], m.Weights[e*roles:][:roles])
		row("|"+name+"|", awayCentre, awaySpread, m.Weights[(m.Elements+e)*roles:][:roles])
	}
	w.Flush()
	return b.Bytes()
}
