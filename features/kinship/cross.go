package kinship

import (
	"math"

	"foldout/features/cores"
	"foldout/features/vec"
)

// cross gathers, for one pair (x, y) of tracks, what is needed to tell how much of one is a linear image of the other.
// Lag l pairs frame t of x with frame t+l of y. Per lag and bin there are the sum over frames of Y conj(X), and the sum of
// |X|^2 |Y|^2, which is what |sum|^2 would be were the phases random.
type cross struct {
	x, y   int
	lags   []int
	sums   []float32 // blocks x lags x vec.CrossRow
	blocks int
	xx, yy []float64 // per bin: sum of |X|^2, |Y|^2 over the pieces both sketches cover
}

func newCross(x, y int, f framing, lags []int) *cross {
	_, bins := f.bins()
	c := &cross{x: x, y: y, lags: lags, blocks: f.blocks()}
	n := len(lags) * c.blocks * vec.CrossRow
	c.sums, c.xx, c.yy = make([]float32, n), make([]float64, bins), make([]float64, bins)
	return c
}

// at is what was summed at the lag with index l in bin b.
func (c *cross) at(l, b int) (re, im, chance float64) {
	row := c.sums[(b/vec.CrossColumns*len(c.lags)+l)*vec.CrossRow+b%vec.CrossColumns:]
	return float64(row[0]), float64(row[vec.CrossColumns]), float64(row[2*vec.CrossColumns])
}

// add takes in the frames lo to hi-1 of one piece; nil stands for a silent one.
func (c *cross) add(x, y *spectra, lo, hi int) {
	power(c.xx, x, lo, hi)
	power(c.yy, y, lo, hi)
	if x == nil || y == nil {
		return
	}
	for n := range c.blocks {
		sums := c.sums[n*len(c.lags)*vec.CrossRow:][:len(c.lags)*vec.CrossRow]
		for l := 0; l < len(c.lags); l++ {
			lag := c.lags[l]
			if lo == 0 && hi == x.frames && c.several(l, x.pad) {
				// Where there is no frame at one of the lags, one of zeros adds nothing.
				u, v := max(-lag-vec.CrossLags+1, 0), max(lag, 0)
				vec.CrossLagged(sums[l*vec.CrossRow:], x.block(n, u, hi-v), y.block(n, u+lag, hi-v+lag+vec.CrossLags-1))
				l += vec.CrossLags - 1
				continue
			}
			if u, v := max(-lag, 0), max(lag, 0); u+v < hi-lo {
				vec.Cross(sums[l*vec.CrossRow:], x.block(n, lo+u, hi-v), y.block(n, lo+v, hi-u))
			}
		}
	}
}

// several reports whether from the lag with index l on so many follow one another that they can be taken together.
func (c *cross) several(l, pad int) bool {
	if pad < vec.CrossLags-1 || l+vec.CrossLags > len(c.lags) {
		return false
	}
	return c.lags[l+vec.CrossLags-1] == c.lags[l]+vec.CrossLags-1
}

// power adds the power of the frames lo to hi-1 of s to dst, bin by bin.
func power(dst []float64, s *spectra, lo, hi int) {
	switch {
	case s == nil:
	case lo == 0 && hi == s.frames:
		vec.Accumulate(dst, s.total[:len(dst)])
	default:
		for t := lo; t < hi; t++ {
			for b := range dst {
				dst[b] += float64(s.power(b/vec.CrossColumns, t)[b%vec.CrossColumns])
			}
		}
	}
}

// measure runs over all pieces and returns the cross statistics of the pairs, in their order, each at its lags.
func measure(sketches []Sketch, gains []float32, f framing, lags func(pair int) []int, pairs [][2]int) []*cross {
	out := make([]*cross, len(pairs))
	used := make([]bool, len(sketches))
	for i, p := range pairs {
		out[i] = newCross(p[0], p[1], f, lags(i))
		used[p[0]], used[p[1]] = true, true
	}
	workers := cores.Most()
	analysers := make([]*analyser, workers)
	for w := range analysers {
		analysers[w] = newAnalyser(f, 1)
	}
	store := make([]*spectra, len(sketches))
	now := make([]*spectra, len(sketches))
	for _, index := range pieces(sketches) {
		parallel(workers, len(sketches), func(w, i int) {
			now[i] = nil
			if !used[i] {
				return
			}
			c := sketches[i].chunk(index)
			if c == nil {
				return
			}
			if store[i] == nil {
				store[i] = newSpectra(f, 1)
			}
			analysers[w].run(c, gains[i], store[i])
			now[i] = store[i]
		})
		turn := priority(index)
		parallel(workers, len(pairs), func(_, i int) {
			x, y := out[i].x, out[i].y
			if turn < min(sketches[x].Keep, sketches[y].Keep) {
				if lo, hi := f.inside(index, &sketches[x], &sketches[y]); lo < hi {
					out[i].add(now[x], now[y], lo, hi)
				}
			}
		})
	}
	return out
}

// inside gives the range of frames of a piece that lie within both files, so that a file that begins late or ends
// early is not taken for a track that falls silent.
func (f framing) inside(index int64, x, y *Sketch) (lo, hi int) {
	begin := max(x.StartSeconds, y.StartSeconds)*waveRateHz - float64(index*chunkSamples)
	end := min(x.StartSeconds+x.DurationSeconds, y.StartSeconds+y.DurationSeconds)*waveRateHz - float64(index*chunkSamples)
	hop := float64(f.size / 2)
	lo = int(math.Ceil(min(max(begin/hop, 0), float64(f.frames()))))
	hi = int(min(max((end-float64(f.size))/hop+1, 0), float64(f.frames())))
	return lo, hi
}

// shares tells, per lag, the part of y's power that is a linear image of x at that lag, and of x's power that is one
// of y; what random phases would give is taken off, so that unrelated tracks give values around 0.
func (c *cross) shares(frames int) (ofY, ofX []float64) {
	ofY, ofX = make([]float64, len(c.lags)), make([]float64, len(c.lags))
	var xx, yy float64
	for b := range c.xx {
		xx += c.xx[b]
		yy += c.yy[b]
	}
	if !(xx > 0) || !(yy > 0) {
		return ofY, ofX
	}
	for l, lag := range c.lags {
		full := float64(frames) / float64(max(1, frames-max(lag, -lag)))
		for b := range c.xx {
			re, im, chance := c.at(l, b)
			over := (re*re+im*im)*full*full - chanceGain*chance*full
			if c.xx[b] > 0 && c.yy[b] > 0 {
				ofY[l] += over / c.xx[b] / yy
				ofX[l] += over / c.yy[b] / xx
			}
		}
	}
	return ofY, ofX
}

// luck is the share at lag l that random phases would give on the average, in the larger of the two directions:
// small when both tracks sound for long, near 1 when a few frames decide.
func (c *cross) luck(l int) float64 {
	var xx, yy, ofY, ofX float64
	for b := range c.xx {
		if c.xx[b] > 0 && c.yy[b] > 0 {
			xx += c.xx[b]
			yy += c.yy[b]
			_, _, chance := c.at(l, b)
			ofY += chance / c.xx[b]
			ofX += chance / c.yy[b]
		}
	}
	if !(xx > 0) || !(yy > 0) {
		return 0
	}
	return chanceGain * max(ofY/yy, ofX/xx)
}

// chanceGain accounts for the correlation of half-overlapping Hann frames (1/6 each: 1 + 2/36) and of held notes.
const chanceGain = 1.1
