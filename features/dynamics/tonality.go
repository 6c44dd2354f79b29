package dynamics

import "math"

const (
	tonalPoints   = 112
	tonalFrames   = 5 // median over time: 5 frames, about 0.2 s
	tonalSpacing  = 4 // bins between neighbours of the median over frequency: the main lobe of the window
	tonalLowestHz = 45.0
	tonalPerBin   = 24 // points are single bins below 24 bins, later about 4 % wide,
	tonalWidest   = 8  // but no more than 8 bins
)

// tonality is the share of harmonic power after FitzGerald 2010. The spectrum is thinned to points, each the largest
// power in a group of bins. Of every point the median over 5 frames H and the median over 5 points P are compared; the
// neighbours in frequency are at least 4 bins apart, so that the 5 span the 17 bins of the paper or more. H/(H+P) of the
// group's power is harmonic (the paper's soft mask with p = 2 on magnitudes).
type tonality struct {
	edges   [tonalPoints + 1]int
	reach   [tonalPoints]int // points to the next neighbour in frequency
	points  int
	history [tonalFrames][tonalPoints]uint32  // power as its bits: they sort like the non-negative numbers they stand for
	across  [tonalFrames][tonalPoints]float32 // median over frequency
	weight  [tonalFrames][tonalPoints]float32 // power of the whole group
	frames  int64

	harmonic, total float64
}

func (t *tonality) plan(bins int, binHz float64) {
	t.points = 0
	k := max(int(math.Round(tonalLowestHz/binHz)), 1)
	for t.points < tonalPoints {
		step := min(max(k/tonalPerBin, 1), tonalWidest)
		if k+step > bins {
			break
		}
		i := t.points
		t.edges[i], t.edges[i+1] = k, k+step
		t.reach[i] = (tonalSpacing + step - 1) / step
		t.points++
		k += step
	}
}

// frame takes the next spectrum and judges the one two frames back.
func (t *tonality) frame(power []float32) {
	slot := t.frames % tonalFrames
	now, across, weight := &t.history[slot], &t.across[slot], &t.weight[slot]
	for i := range t.points {
		top, sum := uint32(0), float32(0)
		for _, p := range power[t.edges[i]:t.edges[i+1]] {
			top = max(top, math.Float32bits(p))
			sum += p
		}
		now[i], weight[i] = top, sum
	}
	last := t.points - 1
	for i := range t.points {
		d := t.reach[i]
		a, b, c, e := i-2*d, i-d, i+d, i+2*d
		if a < 0 || e > last { // mirrored at the ends
			a, b, c, e = min(max(a, -a), last), min(max(b, -b), last), max(min(c, 2*last-c), 0), max(min(e, 2*last-e), 0)
		}
		across[i] = math.Float32frombits(median5(now[a], now[b], now[i], now[c], now[e]))
	}
	t.frames++
	if t.frames >= tonalFrames {
		t.middle()
	}
}

// middle adds the frame in the middle of the history.
func (t *tonality) middle() {
	a, b, c, d, e := &t.history[0], &t.history[1], &t.history[2], &t.history[3], &t.history[4]
	mid := (t.frames - 1 - tonalFrames/2) % tonalFrames
	weight, across := &t.weight[mid], &t.across[mid]
	harmonic, total := float32(0), float32(0)
	for i := range t.points {
		h := math.Float32frombits(median5(a[i], b[i], c[i], d[i], e[i]))
		if s := h + across[i]; s > 0 {
			harmonic += weight[i] * (h / s)
			total += weight[i]
		}
	}
	t.harmonic += float64(harmonic)
	t.total += float64(total)
}

func median5(a, b, c, d, e uint32) uint32 {
	f := max(min(a, b), min(c, d))
	g := min(max(a, b), max(c, d))
	return max(min(f, g), min(max(f, g), e))
}

// share is 0 on silence.
func (t *tonality) share() float64 {
	if t.total == 0 {
		return 0
	}
	return t.harmonic / t.total
}
