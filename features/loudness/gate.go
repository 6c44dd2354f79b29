package loudness

import "math"

const (
	absoluteGateLUFS   = -70.0
	integratedGateLU   = -10.0 // relative gate of BS.1770-5 Annex 1
	rangeGateLU        = -20.0 // relative gate of EBU Tech 3342
	rangeLowPercent    = 10.0
	rangeHighPercent   = 95.0
	binsPerOctave      = 1 << binBits
	binBits            = 10
	mantissaBits       = 52
	lowestOctave       = -24 // 2^-24 lies below the absolute gate
	octaves            = 34  // up to 2^10, 30 dB above full scale; anything louder shares the last bin
	exponentBias       = 1023
	histogramBins      = octaves * binsPerOctave
	lowestHistogramKey = (exponentBias + lowestOctave) << binBits
)

// gateHistogram keeps the mean squares that pass the absolute gate in fixed memory, however long the track. A bin is
// named by the exponent and the upper 10 mantissa bits of the value, so it spans at most 10 log10(1 + 1/1024) = 0.0042 dB,
// and holds the count and the exact sum of what fell into it.
//
// What that costs against keeping every value: gatedMean sums exactly and differs only if the relative gate falls inside
// an occupied bin, whose values then pass or stay out together, as with a gate moved by less than 0.0042 LU; with all
// values of that bin alike nothing differs at all. A percentile is off by less than one bin, the range by less than two:
// 0.0085 LU.
type gateHistogram struct {
	count []uint32
	sum   []float64
	n     int64
	total float64
}

func newGateHistogram() gateHistogram {
	return gateHistogram{count: make([]uint32, histogramBins), sum: make([]float64, histogramBins)}
}

var absoluteGate = meanSquare(absoluteGateLUFS)

func (h *gateHistogram) add(meanSquare float64) {
	if !(meanSquare > absoluteGate) {
		return
	}
	key := int(math.Float64bits(meanSquare)>>(mantissaBits-binBits)) - lowestHistogramKey
	bin := min(key, histogramBins-1)
	h.count[bin]++
	h.sum[bin] += meanSquare
	h.n++
	h.total += meanSquare
}

// gate returns the first bin whose mean lies above the relative gate, gateLU from the mean of everything kept.
func (h *gateHistogram) gate(gateLU float64) int {
	threshold := h.total / float64(h.n) * math.Pow(10, gateLU/10)
	for bin, count := range h.count {
		if count > 0 && h.sum[bin] > threshold*float64(count) {
			return bin
		}
	}
	return histogramBins
}

// gatedMean returns the mean of the values above both gates; 0 if there is none.
func (h *gateHistogram) gatedMean() float64 {
	if h.n == 0 {
		return 0
	}
	var n int64
	sum := 0.0
	for bin := h.gate(integratedGateLU); bin < histogramBins; bin++ {
		n += int64(h.count[bin])
		sum += h.sum[bin]
	}
	return sum / float64(n)
}

// loudnessRange returns the range in LU after EBU Tech 3342; 0 if no value passes the gates.
func (h *gateHistogram) loudnessRange() float64 {
	if h.n == 0 {
		return 0
	}
	first := h.gate(rangeGateLU)
	var n int64
	for _, count := range h.count[first:] {
		n += int64(count)
	}
	// The index into the sorted values is rounded as in the Recommendation's example code.
	rank := func(percent float64) int64 { return int64(math.Round(float64(n-1) * percent / 100)) }
	return lufs(h.ranked(first, rank(rangeHighPercent))) - lufs(h.ranked(first, rank(rangeLowPercent)))
}

// ranked returns the mean of the bin that holds the value of the given rank, counted from 0 at bin first.
func (h *gateHistogram) ranked(first int, rank int64) float64 {
	for bin := first; bin < histogramBins; bin++ {
		count := int64(h.count[bin])
		if rank < count {
			return h.sum[bin] / float64(count)
		}
		rank -= count
	}
	return 0
}
