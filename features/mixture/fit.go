package mixture

import (
	"math"
	"slices"

	"foldout/features/vec"
)

// fitted is a sum of members under an equaliser and a moving gain.
type fitted struct {
	gain, share                []float64 // of each member
	errorDB, colourDB, movedDB float64
}

// A fitter explains one track after another. It keeps its rows, for it is asked many thousand times; one goroutine at a time.
type fitter struct {
	cells      []int // the band and step of each element: step*bands + band
	y          []float64
	band, step []float64 // the equaliser and the moving gain, dB

	shape, model, ratio, row []float64 // of each cell
	end                      []int
	picked                   rows[float64]
	scaled                   rows[float32]
}

// rows are slices that are used again.
type rows[T float32 | float64] struct {
	rows [][]T
	used int
}

// next is a row of n elements with whatever stands in it.
func (r *rows[T]) next(n int) []T {
	if r.used == len(r.rows) {
		r.rows = append(r.rows, nil)
	}
	row := sized(r.rows[r.used], n)
	r.rows[r.used] = row
	r.used++
	return row
}

// sized is a slice of n elements, v if it is large enough.
func sized[T any](v []T, n int) []T {
	if cap(v) < n {
		return make([]T, n)
	}
	return v[:n]
}

// aim makes ready to explain y, which has an element for each of cells; steps is the number of steps in all.
func (w *fitter) aim(y []float64, cells []int, steps int) {
	w.y, w.cells = y, cells
	w.band, w.step = sized(w.band, bands), sized(w.step, steps)
	w.shape, w.model, w.ratio = sized(w.shape, len(y)), sized(w.model, len(y)), sized(w.ratio, len(y))
}

// fit explains y by a sum of x. Gains, equaliser and moving gain are found in turn, rounds times; after three the error changed
// by less than 0.05 dB on forty mixes.
func (w *fitter) fit(x [][]float64, rounds int) fitted {
	y, cells, shape, model, ratio, band, step := w.y, w.cells, w.shape, w.model, w.ratio, w.band, w.step
	for i := range shape { // equaliser times moving gain, by which the sum is multiplied
		shape[i] = 1
	}
	clear(band)
	clear(step)
	f := fitted{gain: start(y, x)}
	for round := range rounds {
		f.gain = w.descend(x, f.gain)
		clear(model)
		for i, v := range x {
			if g := f.gain[i]; g > 0 {
				for c, p := range v {
					model[c] += g * p
				}
			}
		}
		if round == rounds-1 {
			break
		}
		for c := range y {
			ratio[c] = math.NaN()
			if model[c] > 0 {
				ratio[c] = 10 * math.Log10(y[c]/model[c])
			}
		}
		w.medians(band, func(cell int) int { return cell % bands })
		for c := range ratio {
			ratio[c] -= band[cells[c]%bands]
		}
		w.medians(step, func(cell int) int { return cell / bands })
		var ofBand [bands]float64
		for b, v := range band {
			ofBand[b] = math.Pow(10, clamp(v, 9)/10)
		}
		last, ofStep := -1, 0.0
		for i, c := range cells {
			if c/bands != last {
				last = c / bands
				ofStep = math.Pow(10, clamp(step[last], 9)/10)
			}
			shape[i] = ofBand[c%bands] * ofStep
		}
	}
	f.errorDB = errorOf(y, model, shape)
	f.colourDB, f.movedDB = spread(band), spread(step)
	f.share = make([]float64, len(x))
	total := 0.0
	for c := range y {
		total += model[c] * shape[c]
	}
	for i, v := range x {
		if g := f.gain[i]; g > 0 {
			for c, p := range v {
				f.share[i] += g * p * shape[c] / max(total, 1e-30)
			}
		}
	}
	return f
}

func clamp(v, most float64) float64 { return max(-most, min(most, v)) }

// start guesses one gain for all: that which gives the sum the power of y.
func start(y []float64, x [][]float64) []float64 {
	var all float64
	for _, v := range x {
		all += sum(v)
	}
	g := make([]float64, len(x))
	for i := range g {
		g[i] = sum(y) / max(all, 1e-30)
	}
	return g
}

// descend solves for non-negative gains by coordinate descent on the normal equations of the relative error.
func (w *fitter) descend(x [][]float64, gain []float64) []float64 {
	y, shape, n := w.y, w.shape, len(x)
	a := make([][]float64, n) // Gram matrix
	b := make([]float64, n)
	scaled := make([][]float32, n)
	w.scaled.used = 0
	for i, v := range x {
		s := w.scaled.next(len(v))
		for c := range v {
			r := v[c] * shape[c] / y[c]
			s[c] = float32(r)
			b[i] += r
		}
		scaled[i] = s
	}
	for i := range a {
		a[i] = make([]float64, n)
	}
	for i := range a {
		for j := i; j < n; j++ {
			d := float64(vec.Dot(scaled[i], scaled[j]))
			a[i][j], a[j][i] = d, d
		}
	}
	// rest is b less what the gains explain; it changes only when a gain does, and most gains stay 0.
	g, rest := slices.Clone(gain), slices.Clone(b)
	give := func(i int, change float64) {
		for j, v := range a[i] {
			rest[j] -= change * v
		}
	}
	for i, v := range g {
		if a[i][i] <= 0 {
			g[i] = 0
		} else if v != 0 {
			give(i, v)
		}
	}
	for range 200 {
		var change float64
		for i := range g {
			if a[i][i] <= 0 {
				continue
			}
			step := max(0, g[i]+rest[i]/a[i][i]) - g[i]
			if step == 0 {
				continue
			}
			change = max(change, math.Abs(step)*math.Sqrt(a[i][i]))
			g[i] += step
			give(i, step)
		}
		if change < 1e-6*math.Sqrt(float64(len(y))) {
			break
		}
	}
	return g
}

// medians writes to m the median ratio of the cells of each group, NaN left out; groups without values keep 0.
func (w *fitter) medians(m []float64, group func(cell int) int) {
	end := sized(w.end, len(m)+1) // of each group's values, in one row
	clear(end)
	for c, v := range w.ratio {
		if !math.IsNaN(v) {
			end[group(w.cells[c])+1]++
		}
	}
	for g := range m {
		end[g+1] += end[g]
	}
	row := sized(w.row, end[len(m)])
	w.row, w.end = row, end
	for c, v := range w.ratio { // end moves on to where the next of the group goes, and so ends where the next group began
		if !math.IsNaN(v) {
			g := group(w.cells[c])
			row[end[g]] = v
			end[g]++
		}
	}
	clear(m)
	first := 0
	for g := range m {
		if v := row[first:end[g]]; len(v) > 0 {
			m[g] = vec.Nth(v, len(v)/2)
		}
		first = end[g]
	}
}

// errorOf is the rms difference between y and the shaped model in decibels, each cell's at most 20 dB.
func errorOf(y, model, shape []float64) float64 {
	var s float64
	for c := range y {
		d := 20.0
		if m := model[c] * shape[c]; m > 0 {
			d = clamp(10*math.Log10(y[c]/m), 20)
		}
		s += d * d
	}
	return math.Sqrt(s / float64(len(y)))
}

// spread is the rms of the values that are not 0 about their mean.
func spread(m []float64) float64 {
	var v []float64
	for _, x := range m {
		if x != 0 {
			v = append(v, x)
		}
	}
	return deviation(v)
}

func mean(v []float64) float64 { return sum(v) / max(1, float64(len(v))) }

func deviation(v []float64) float64 {
	m := mean(v)
	var q float64
	for _, x := range v {
		q += (x - m) * (x - m)
	}
	return math.Sqrt(q / max(1, float64(len(v))))
}

func median(v []float64) float64 {
	s := slices.Clone(v)
	slices.Sort(s)
	return s[len(s)/2]
}
