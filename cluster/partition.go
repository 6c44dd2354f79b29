package cluster

import (
	"fmt"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// partition is a labelled matrix: the rows, and the rows of each label in
// ascending order of the labels that occur.
type partition struct {
	rows   [][]float64
	labels []int   // the labels that occur
	groups [][]int // the rows of each
	of     []int   // the index into groups of each row
}

func newPartition(x mat.Matrix, labels []int) (*partition, error) {
	rows, err := rowsOf(x)
	if err != nil {
		return nil, err
	}
	if len(labels) != len(rows) {
		return nil, fmt.Errorf("cluster: %d labels for %d observations", len(labels), len(rows))
	}
	p := &partition{rows: rows}
	p.labels, p.groups, p.of = groupLabels(labels)
	return p, nil
}

func groupLabels(labels []int) (distinct []int, groups [][]int, of []int) {
	distinct = slices.Compact(slices.Sorted(slices.Values(labels)))
	groups = make([][]int, len(distinct))
	of = make([]int, len(labels))
	for i, l := range labels {
		g, _ := slices.BinarySearch(distinct, l)
		groups[g] = append(groups[g], i)
		of[i] = g
	}
	return distinct, groups, of
}
