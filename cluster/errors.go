package cluster

import (
	"errors"
	"fmt"
	"math"
	"slices"
	"strings"

	"gonum.org/v1/gonum/mat"
)

// ErrEmpty reports a matrix without rows or without columns.
var ErrEmpty = errors.New("cluster: no observations or no dimensions")

// InfeasibleError reports constraints for which there is no partition.
type InfeasibleError struct {
	// Reason says what contradicts what.
	Reason string
	// Observations are the rows involved, ascending; empty if all are.
	Observations []int
	// Proven is false if a long search found no partition but did not rule
	// out that there is one.
	Proven bool
}

func (e *InfeasibleError) Error() string {
	verdict := "cannot be met"
	if !e.Proven {
		verdict = "not met"
	}
	text := "cluster: constraints " + verdict + ": " + e.Reason
	if len(e.Observations) > 0 {
		text += " (" + listObservations(e.Observations) + ")"
	}
	return text
}

func infeasible(obs []int, format string, args ...any) *InfeasibleError {
	obs = slices.Clone(obs)
	slices.Sort(obs)
	return &InfeasibleError{Reason: fmt.Sprintf(format, args...), Observations: slices.Compact(obs), Proven: true}
}

func listObservations(obs []int) string {
	word := "observations"
	if len(obs) == 1 {
		word = "observation"
	}
	var b strings.Builder
	b.WriteString(word)
	for i, o := range obs {
		if i > 0 {
			b.WriteByte(',')
		}
		fmt.Fprintf(&b, " %d", o)
	}
	return b.String()
}

// rowsOf copies x into row slices that share one backing array.
func rowsOf(x mat.Matrix) ([][]float64, error) {
	n, d := x.Dims()
	if n == 0 || d == 0 {
		return nil, ErrEmpty
	}
	flat := make([]float64, n*d)
	rows := make([][]float64, n)
	for i := range rows {
		rows[i] = flat[i*d : (i+1)*d : (i+1)*d]
		for j := range rows[i] {
			v := x.At(i, j)
			if math.IsNaN(v) || math.IsInf(v, 0) {
				return nil, fmt.Errorf("cluster: observation %d, dimension %d is %v, want a finite number", i, j, v)
			}
			rows[i][j] = v
		}
	}
	return rows, nil
}
