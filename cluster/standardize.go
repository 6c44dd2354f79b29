package cluster

import (
	"fmt"
	"math"
	"slices"

	"gonum.org/v1/gonum/mat"
)

// Method is a way to make columns commensurable.
type Method int

const (
	// ZScore subtracts the mean and divides by the standard deviation with
	// divisor n.
	ZScore Method = iota
	// Robust subtracts the median and divides by 1.4826 times the median
	// absolute deviation; where that is 0 because more than half the values are
	// equal, by the interquartile range over 1.349; where that is 0 too, by the
	// standard deviation. The factors make all three agree on normal data
	// (Rousseeuw and Croux, J. Am. Stat. Assoc. 88, 1993).
	Robust
)

// Scaling is what Standardize subtracted from each of the d columns and then
// divided it by.
type Scaling struct {
	Center, Spread []float64
}

// Standardize returns (x - center) / spread, column by column, for x (n x d),
// and the centres and spreads it used. A column of equal values becomes 0, with
// spread 1. Quartiles interpolate linearly (type 7 of Hyndman and Fan, Am.
// Stat. 50, 1996). O(d n log n).
func Standardize(x mat.Matrix, method Method) (*mat.Dense, *Scaling, error) {
	if method != ZScore && method != Robust {
		return nil, nil, fmt.Errorf("cluster: unknown standardization method %d", method)
	}
	rows, err := rowsOf(x)
	if err != nil {
		return nil, nil, err
	}
	n, d := len(rows), len(rows[0])
	s := &Scaling{Center: make([]float64, d), Spread: make([]float64, d)}
	out := mat.NewDense(n, d, nil)
	column := make([]float64, n)
	for j := range d {
		for i, row := range rows {
			column[i] = row[j]
		}
		slices.Sort(column)
		center, spread := meanAndDeviation(column)
		if method == Robust {
			center, spread = robustScale(column, spread)
		}
		if column[0] == column[n-1] || spread == 0 {
			center, spread = column[0], 1
		}
		if math.IsInf(spread, 1) {
			return nil, nil, fmt.Errorf("cluster: spread of dimension %d overflows", j)
		}
		for i, row := range rows {
			out.Set(i, j, (row[j]-center)/spread)
		}
		s.Center[j], s.Spread[j] = center, spread
	}
	return out, s, nil
}

func meanAndDeviation(v []float64) (mean, deviation float64) {
	n := float64(len(v))
	for _, e := range v {
		mean += (e - v[0]) / n
	}
	mean += v[0]
	var sum float64
	for _, e := range v {
		sum += (e - mean) * (e - mean)
	}
	return mean, math.Sqrt(sum / n)
}

// robustScale returns the median of sorted values and the first spread that is
// not 0.
func robustScale(sorted []float64, deviation float64) (center, spread float64) {
	center = quantile(sorted, 0.5)
	off := make([]float64, len(sorted))
	for i, v := range sorted {
		off[i] = math.Abs(v - center)
	}
	slices.Sort(off)
	if mad := quantile(off, 0.5); mad > 0 {
		return center, 1.4826 * mad
	}
	if iqr := quantile(sorted, 0.75) - quantile(sorted, 0.25); iqr > 0 {
		return center, iqr / 1.349
	}
	return center, deviation
}

// quantile interpolates linearly between the order statistics.
func quantile(sorted []float64, p float64) float64 {
	at := p * float64(len(sorted)-1)
	lo := int(at)
	if lo == len(sorted)-1 {
		return sorted[lo]
	}
	return sorted[lo] + (at-float64(lo))*(sorted[lo+1]-sorted[lo])
}
