package loudness

const (
	hopsPerSecond  = 100 // 10 ms: EBU Tech 3341 case 13 needs a momentary maximum at 20 ms or finer
	momentaryHops  = 40  // 400 ms
	shortTermHops  = 300 // 3 s
	gatingStepHops = 10  // gating blocks and short-term values for the range start every 100 ms
)

// windows turns the energies of 10 ms hops into the sliding 400 ms and 3 s windows. Windows still filling at the start of
// a track are taken as preceded by silence for the maxima, and left out of gating and range.
type windows struct {
	ring [shortTermHops]float64
	next int   // where the next hop goes in the ring
	hops int64 // hops so far

	momentary, shortTerm       float64 // sums over the windows that end now
	maxMomentary, maxShortTerm float64 // highest sums

	momentarySamples, shortTermSamples float64

	blocks     gateHistogram // mean squares of gating blocks
	shortTerms gateHistogram // mean squares of complete 3 s windows
}

func newWindows(sampleRateHz int) windows {
	perHop := float64(sampleRateHz) / hopsPerSecond
	return windows{
		momentarySamples: momentaryHops * perHop,
		shortTermSamples: shortTermHops * perHop,
		blocks:           newGateHistogram(),
		shortTerms:       newGateHistogram(),
	}
}

// add takes the weighted sum of squares of one complete hop.
func (w *windows) add(energy float64) {
	w.shortTerm += energy - w.ring[w.next]
	w.momentary += energy - w.ring[w.back(momentaryHops)]
	w.ring[w.next] = energy
	w.next = (w.next + 1) % shortTermHops
	w.hops++
	step := w.hops%gatingStepHops == 0
	if step { // summed afresh, so that rounding does not pile up
		w.momentary = w.last(momentaryHops)
	}
	if w.next == 0 {
		w.shortTerm = w.last(shortTermHops)
	}
	w.maxMomentary = max(w.maxMomentary, w.momentary)
	w.maxShortTerm = max(w.maxShortTerm, w.shortTerm)
	if step && w.hops >= momentaryHops {
		w.blocks.add(w.momentary / w.momentarySamples)
	}
	if step && w.hops >= shortTermHops {
		w.shortTerms.add(w.shortTerm / w.shortTermSamples)
	}
}

// back returns the ring index of the hop n hops before the next one.
func (w *windows) back(n int) int {
	return (w.next + shortTermHops - n) % shortTermHops
}

// last sums the last n hops.
func (w *windows) last(n int) float64 {
	sum := 0.0
	for i := w.back(n); n > 0; n-- {
		sum += w.ring[i]
		if i++; i == shortTermHops {
			i = 0
		}
	}
	return sum
}

// maxima returns the highest mean squares of both windows, the hop in progress included as if silence followed it.
func (w *windows) maxima(unfinished float64) (momentary, shortTerm float64) {
	momentary = max(w.maxMomentary, w.momentary+unfinished-w.ring[w.back(momentaryHops)])
	shortTerm = max(w.maxShortTerm, w.shortTerm+unfinished-w.ring[w.next])
	return momentary / w.momentarySamples, shortTerm / w.shortTermSamples
}
