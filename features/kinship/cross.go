package kinship

import "math"

// cross gathers, for one pair (x, y) of tracks, what is needed to tell how much of one is a linear image of the other.
// Lag l pairs frame t of x with frame t+l of y.
type cross struct {
	x, y   int
	lags   []int
	re, im [][]float32 // per lag and bin: sum over frames of Y conj(X)
	chance [][]float32 // per lag and bin: sum of |X|^2 |Y|^2, what |sum|^2 would be were the phases random
	xx, yy []float32   // per bin: sum of |X|^2, |Y|^2 over the pieces both sketches cover
}

func newCross(x, y, bins int, lags []int) *cross {
	c := &cross{x: x, y: y, lags: lags, re: make([][]float32, len(lags)), im: make([][]float32, len(lags)), chance: make([][]float32, len(lags))}
	all := make([]float32, bins*(3*len(lags)+2))
	take := func() []float32 {
		s := all[:bins:bins]
		all = all[bins:]
		return s
	}
	for l := range lags {
		c.re[l], c.im[l], c.chance[l] = take(), take(), take()
	}
	c.xx, c.yy = take(), take()
	return c
}

// add takes in the frames lo to hi-1 of one piece; nil stands for a silent one.
func (c *cross) add(x, y *spectra, frames, lo, hi int) {
	power(c.xx, x, frames, lo, hi)
	power(c.yy, y, frames, lo, hi)
	if x == nil || y == nil {
		return
	}
	for b := range c.xx {
		at := b * frames
		xr, xi, xp := x.re[at+lo:at+hi], x.im[at+lo:at+hi], x.power[at+lo:at+hi]
		yr, yi, yp := y.re[at+lo:at+hi], y.im[at+lo:at+hi], y.power[at+lo:at+hi]
		for l, lag := range c.lags {
			u, v := max(-lag, 0), max(lag, 0)
			if u >= len(xr) || v >= len(xr) {
				continue
			}
			re, im, chance := product(xr[u:len(xr)-v], xi[u:], xp[u:], yr[v:], yi[v:], yp[v:])
			c.re[l][b] += re
			c.im[l][b] += im
			c.chance[l][b] += chance
		}
	}
}

// power adds the power of the frames lo to hi-1 of s to dst, bin by bin.
func power(dst []float32, s *spectra, frames, lo, hi int) {
	switch {
	case s == nil:
	case lo == 0 && hi == frames:
		for b, v := range s.total {
			dst[b] += v
		}
	default:
		for b := range dst {
			for _, v := range s.power[b*frames+lo : b*frames+hi] {
				dst[b] += v
			}
		}
	}
}

// product sums y conj(x) and the product of the powers over the length of xr.
func product(xr, xi, xp, yr, yi, yp []float32) (re, im, power float32) {
	n := len(xr)
	xi, xp, yr, yi, yp = xi[:n], xp[:n], yr[:n], yi[:n], yp[:n]
	var re1, im1 float32
	for t := 0; t < n; t++ {
		a, b, c, d := xr[t], xi[t], yr[t], yi[t]
		re += a * c
		re1 += b * d
		im += a * d
		im1 += b * c
		power += xp[t] * yp[t]
	}
	return re + re1, im - im1, power
}

// measure runs over all pieces and returns the cross statistics of the pairs, in their order, each at its lags.
func measure(sketches []Sketch, gains []float32, f framing, lags func(pair int) []int, pairs [][2]int) []*cross {
	_, bins := f.bins()
	out := make([]*cross, len(pairs))
	used := make([]bool, len(sketches))
	for i, p := range pairs {
		out[i] = newCross(p[0], p[1], bins, lags(i))
		used[p[0]], used[p[1]] = true, true
	}
	workers := maxWorkers()
	analysers := make([]*analyser, workers)
	for w := range analysers {
		analysers[w] = newAnalyser(f)
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
				store[i] = newSpectra(f)
			}
			analysers[w].run(c, gains[i], store[i])
			now[i] = store[i]
		})
		turn := priority(index)
		parallel(workers, len(pairs), func(_, i int) {
			x, y := out[i].x, out[i].y
			if turn < min(sketches[x].Keep, sketches[y].Keep) {
				if lo, hi := f.inside(index, &sketches[x], &sketches[y]); lo < hi {
					out[i].add(now[x], now[y], f.frames(), lo, hi)
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
		xx += float64(c.xx[b])
		yy += float64(c.yy[b])
	}
	if !(xx > 0) || !(yy > 0) {
		return ofY, ofX
	}
	for l, lag := range c.lags {
		full := float64(frames) / float64(max(1, frames-max(lag, -lag)))
		for b := range c.xx {
			re, im := float64(c.re[l][b])*full, float64(c.im[l][b])*full
			over := re*re + im*im - chanceGain*float64(c.chance[l][b])*full
			if c.xx[b] > 0 && c.yy[b] > 0 {
				ofY[l] += over / float64(c.xx[b]) / yy
				ofX[l] += over / float64(c.yy[b]) / xx
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
			xx += float64(c.xx[b])
			yy += float64(c.yy[b])
			ofY += float64(c.chance[l][b]) / float64(c.xx[b])
			ofX += float64(c.chance[l][b]) / float64(c.yy[b])
		}
	}
	if !(xx > 0) || !(yy > 0) {
		return 0
	}
	return chanceGain * max(ofY/yy, ofX/xx)
}

// chanceGain accounts for the correlation of half-overlapping Hann frames (1/6 each: 1 + 2/36) and of held notes.
const chanceGain = 1.1
