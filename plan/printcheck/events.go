package printcheck

import (
	"math"
	"slices"
)

// Event is something short that happened to the print alone.
type Event struct {
	Kind     string  `json:"kind"` // "dropout" or "click"
	Side     string  `json:"side"` // left, right or both, of the mix
	MixS     float64 `json:"mix_s"`
	PrintS   float64 `json:"print_s"`
	LengthMS float64 `json:"length_ms"`
	// LevelDBFS is the peak of a click, or how loud the mix was where the print stopped.
	LevelDBFS float64 `json:"level_dbfs"`
}

const (
	eventBlock   = 64    // frames, at up to 50 kHz
	dropoutDB    = -26.0 // the print against the fit
	dropoutFloor = -60.0 // dBFS of the fit: below it a pause is no loss
	clickDB      = 17.0  // roughness of the rest above the 98th percentile of its neighbours, and of the mix's own likewise
	clickFloor   = -66.0 // dBFS peak
	clickSpan    = 700   // neighbours on either side: about a second
	clickLongest = 8     // blocks: what lasts longer is music that the chain treats differently
)

// eventFinder gathers a stretch in blocks of 1.3 ms.
type eventFinder struct {
	block   int
	from    int64
	x, u, y [2][]float32 // mean squares
	rough   [2][]float32 // of the rest, without what a gain of the moment explains
	sudden  [2][]float32 // roughness of the fit
	bent    [2][]float32 // and of its cube: what a bent characteristic makes of it goes with this
	peak    [2][]float32 // of the rest
	e       [2][]float32 // mean square of the rest
	usable  []bool
	last    [2][3][4]float32 // frames before the block: of the rest, of the fit, of its cube
}

func newEventFinder(rate int) *eventFinder { return &eventFinder{block: eventBlock * scaleOf(rate)} }

func (f *eventFinder) begin(from int64) {
	f.from = from
	for c := range 2 {
		for _, p := range []*[]float32{&f.x[c], &f.u[c], &f.y[c], &f.rough[c], &f.sudden[c], &f.bent[c], &f.peak[c], &f.e[c]} {
			*p = (*p)[:0]
		}
		f.last[c] = [3][4]float32{}
	}
	f.usable = f.usable[:0]
}

// write measures a hop, block by block. Roughness is the mean square of x(n) - 2 x(n-2) + x(n-4), which holds neither the lows
// nor the very end of the band, where reading between the samples has its errors.
func (f *eventFinder) write(x, u, y, e [2][]float32, whole bool) {
	n := float32(f.block)
	for at := 0; at+f.block <= len(u[0]); at += f.block {
		for c := range 2 {
			var sx, su, sy, se, ee, uu, eu, cc, peak float32
			r, v, b := f.last[c][0], f.last[c][1], f.last[c][2]
			part := u[c][at : at+f.block]
			mixes, prints, rest := x[c][at:][:len(part)], y[c][at:][:len(part)], e[c][at:][:len(part)]
			for i, un := range part {
				xn, yn, en, cube := mixes[i], prints[i], rest[i], un*un*un
				sx += xn * xn
				su += un * un
				sy += yn * yn
				se += en * en
				de, du, dc := en-2*r[2]+r[0], un-2*v[2]+v[0], cube-2*b[2]+b[0]
				ee += de * de
				uu += du * du
				eu += de * du
				cc += dc * dc
				r[0], r[1], r[2], r[3] = r[1], r[2], r[3], en
				v[0], v[1], v[2], v[3] = v[1], v[2], v[3], un
				b[0], b[1], b[2], b[3] = b[1], b[2], b[3], cube
				peak = max(peak, en, -en)
			}
			f.last[c] = [3][4]float32{r, v, b}
			if uu > 0 {
				ee = max(0, ee-eu*eu/uu)
			}
			f.x[c], f.u[c], f.y[c] = append(f.x[c], sx/n), append(f.u[c], su/n), append(f.y[c], sy/n)
			f.rough[c], f.sudden[c], f.bent[c] = append(f.rough[c], ee/n), append(f.sudden[c], uu/n), append(f.bent[c], cc/n)
			f.peak[c], f.e[c] = append(f.peak[c], peak), append(f.e[c], se/n)
		}
		f.usable = append(f.usable, whole)
	}
}

// end lists what happened in the stretch, and sums up print and rest where nothing did.
func (f *eventFinder) end(l line, mixRate, printRate float64) ([]Event, energies) {
	n := len(f.usable)
	spoilt := make([]bool, n) // blocks near a dropout or the end of a segment: no clicks are sought there
	for i, ok := range f.usable {
		if !ok {
			spoilt[i] = true
		}
	}
	var out []Event
	at := func(i int) (mix, print float64) {
		frame := float64(f.from + int64(i*f.block))
		return frame / mixRate, l.at(frame) / printRate
	}
	var sides [2][][2]int
	for c := range 2 {
		sides[c] = f.dropouts(c)
		for _, d := range sides[c] {
			for i := max(0, d[0]-3); i < min(n, d[1]+3); i++ {
				spoilt[i] = true
			}
		}
	}
	for c := range 2 {
		for _, d := range sides[c] {
			side := [2]string{"left", "right"}[c]
			if same := slices.IndexFunc(sides[1-c], func(o [2]int) bool { return o[0] < d[1]+2 && d[0] < o[1]+2 }); same >= 0 {
				if c == 1 {
					continue
				}
				side = "both"
			}
			var level float32
			for _, v := range f.u[c][d[0]:d[1]] {
				level += v / float32(d[1]-d[0])
			}
			e := Event{Kind: "dropout", Side: side, LengthMS: float64((d[1]-d[0])*f.block) / mixRate * 1000, LevelDBFS: 10 * math.Log10(float64(level))}
			e.MixS, e.PrintS = at(d[0])
			out = append(out, e)
		}
	}
	out = append(out, f.clicks(spoilt, at, mixRate)...)
	var sum energies
	for i := range f.usable {
		for c := range 2 {
			if !spoilt[i] {
				sum.y += float64(f.y[c][i])
				sum.e += float64(f.e[c][i])
			}
		}
	}
	return out, sum
}

// dropouts are runs of blocks in which the print is silent or nearly so where fit and mix are not: a fit that is not perfect
// sounds on in a pause.
func (f *eventFinder) dropouts(c int) (runs [][2]int) {
	ratio, floor := float32(math.Pow(10, dropoutDB/10)), float32(math.Pow(10, dropoutFloor/10))
	var mix, fit float32
	for i, v := range f.x[c] {
		mix, fit = mix+v, fit+f.u[c][i]
	}
	gain := float32(1)
	if mix > 0 {
		gain = fit / mix
	}
	start := -1
	for i := range len(f.usable) + 1 {
		gone := i < len(f.usable) && f.usable[i] && f.u[c][i] > floor && gain*f.x[c][i] > floor && f.y[c][i] < ratio*f.u[c][i]
		if !gone && start >= 0 && i < len(f.usable) && i-start > 2 && f.y[c][i] < ratio*f.u[c][i] {
			continue // a soft moment of the mix inside a long dropout
		}
		switch {
		case gone && start < 0:
			start = i
		case !gone && start >= 0:
			runs = append(runs, [2]int{start, i})
			start = -1
		}
	}
	return runs
}

// clicks are blocks whose rest is far rougher than about them. They are marked as spoilt. Where the mix itself is more
// sudden than about it, as at the loudest stroke of a bar, the rest has to stand out by as much more: a chain that
// compresses, or a codec, leaves most there.
func (f *eventFinder) clicks(spoilt []bool, at func(int) (float64, float64), mixRate float64) (out []Event) {
	ratio := float32(math.Pow(10, clickDB/10))
	floor := float32(math.Pow(10, clickFloor/20))
	n := len(f.usable)
	rests := make([]float32, 0, 2*clickSpan)
	near := func(i, j int) bool { return (j < i-4 || j > i+clickLongest) && !spoilt[j] }
	for i := 0; i < n; i++ {
		side, level, peak := -1, float32(0), float32(0)
		for c := range 2 {
			if v := f.rough[c][i]; !spoilt[i] && f.peak[c][i] > floor && v > level {
				side, level, peak = c, v, f.peak[c][i]
			}
		}
		if side < 0 || level < 4*f.rough[side][max(0, i-2)] && i >= 2 {
			continue // not even a sudden rise: most blocks end here
		}
		rests = rests[:0]
		above := 0 // neighbours that are too rough for this block to stand out
		for j := max(0, i-clickSpan); j < min(n, i+clickSpan); j++ {
			if near(i, j) {
				rests = append(rests, f.rough[side][j])
				if f.rough[side][j]*ratio > level {
					above++
				}
			}
		}
		rank := len(rests) * 98 / 100
		if len(rests) < 50 || above >= len(rests)-rank {
			continue
		}
		slices.Sort(rests)
		usual, stands := rests[rank], float32(1)
		for _, of := range [][]float32{f.sudden[side], f.bent[side]} {
			rests = rests[:0]
			for j := max(0, i-clickSpan); j < min(n, i+clickSpan); j++ {
				if near(i, j) {
					rests = append(rests, of[j])
				}
			}
			slices.Sort(rests)
			if rests[rank] > 0 {
				stands = max(stands, slices.Max(of[max(0, i-1):min(n, i+2)])/rests[rank])
			}
		}
		usual *= stands
		if level < ratio*usual {
			continue
		}
		end := i + 1
		for end < n && f.rough[side][end] > ratio*usual {
			end++
		}
		if end-i > clickLongest {
			i = end
			continue
		}
		e := Event{Kind: "click", Side: [2]string{"left", "right"}[side], LengthMS: float64((end-i)*f.block) / mixRate * 1000, LevelDBFS: 20 * math.Log10(float64(peak))}
		if other := f.rough[1-side][i]; other > level/30 {
			e.Side = "both"
		}
		e.MixS, e.PrintS = at(i)
		out = append(out, e)
		for j := i; j < end; j++ {
			spoilt[j] = true
		}
		i = end
	}
	return out
}
