package timbre

import "math"

// moments accumulates a weighted mean and deviation.
type moments struct{ w, x, xx float64 }

func (m *moments) add(w, x float64) { m.w += w; m.x += w * x; m.xx += w * x * x }

// mean is 0 when nothing was added.
func (m *moments) mean() float64 {
	if m.w <= 0 {
		return 0
	}
	return m.x / m.w
}

// dev is the standard deviation, 0 when nothing was added.
func (m *moments) dev() float64 {
	if m.w <= 0 {
		return 0
	}
	mu := m.x / m.w
	return math.Sqrt(math.Max(0, m.xx/m.w-mu*mu))
}

// histogram is a weighted histogram over [lo, lo+step*(n-1)]. A value is shared between its two nearest bins, so that
// quantiles move smoothly with the values; values beyond the ends count at the ends.
type histogram struct {
	lo, step float64
	bins     []float64
	total    float64
}

func newHistogram(lo, hi, step float64) histogram {
	return histogram{lo: lo, step: step, bins: make([]float64, int(math.Round((hi-lo)/step))+1)}
}

func (h *histogram) add(w, x float64) {
	if math.IsNaN(x) || !(w > 0) { // says nothing
		return
	}
	last := len(h.bins) - 1
	p := math.Max(0, math.Min(float64(last), (x-h.lo)/h.step))
	i := min(int(p), last-1)
	f := p - float64(i)
	h.bins[i] += w * (1 - f)
	h.bins[i+1] += w * f
	h.total += w
}

// quantile is the value below which a share q of the weight lies; fallback when the histogram is empty.
func (h *histogram) quantile(q, fallback float64) float64 {
	if h.total <= 0 {
		return fallback
	}
	rest := q * h.total
	for i, b := range h.bins {
		if b > 0 && rest <= b {
			return h.lo + h.step*(float64(i)-0.5+rest/b)
		}
		rest -= b
	}
	return h.lo + h.step*float64(len(h.bins)-1)
}

// above is the share of the weight at or above x, 0 when empty.
func (h *histogram) above(x float64) float64 {
	if h.total <= 0 {
		return 0
	}
	p := (x - h.lo) / h.step
	var sum float64
	for i, b := range h.bins {
		// bin i stands for a triangle of half-width one step; a linear ramp keeps the share smooth in x
		sum += b * math.Max(0, math.Min(1, float64(i)-p+0.5))
	}
	return sum / h.total
}

// peakShare is the largest share of the weight that falls into two neighbouring bins, 0 when empty.
func (h *histogram) peakShare() float64 {
	if h.total <= 0 {
		return 0
	}
	var best float64
	for i := 1; i < len(h.bins); i++ {
		best = math.Max(best, h.bins[i-1]+h.bins[i])
	}
	return best / h.total
}

// ratioDB is 10 log10(a/b) held within +-limit; 0 when both are 0.
func ratioDB(a, b, limit float64) float64 {
	switch {
	case a <= 0 && b <= 0:
		return 0
	case a <= 0:
		return -limit
	case b <= 0:
		return limit
	}
	return math.Max(-limit, math.Min(limit, 10*math.Log10(a/b)))
}
