package printcheck

import (
	"context"
	"math"
	"slices"
)

// lost is the least stretch of sounding mix, in seconds, without a place in the print that is sought all over the print.
const lost = 3.0

// rescue looks for stretches of the mix that no anchor was found in: after a cut or a pause the print goes on somewhere
// else. It adds what it finds to the course.
func (t *tracker) rescue(ctx context.Context, c *course, spots []placing) error {
	for range 8 { // each round may bring one stretch home
		from, to := t.gap(c)
		if to <= from {
			return nil
		}
		l, ok, err := t.search(ctx, c, from, to, spots)
		if err != nil {
			return err
		}
		if !ok {
			t.missing = append(t.missing, [2]int64{from, to})
			continue
		}
		part := &course{step: c.step}
		first, last := t.overlap(l, from, to)
		part.anchors, err = survey(ctx, t.mix, t.print, t.kernel, t.starts(first, last, 100), func(int64) line { return l })
		if err != nil {
			return err
		}
		part.fit(l, t)
		if len(part.segments) == 0 {
			t.missing = append(t.missing, [2]int64{from, to})
			continue
		}
		// Inside the gap only the new anchors count.
		c.anchors = slices.DeleteFunc(c.anchors, func(a anchor) bool { return !a.found() && a.mix >= float64(from) && a.mix <= float64(to) })
		c.anchors = append(c.anchors, part.anchors...)
		slices.SortFunc(c.anchors, func(a, b anchor) int { return int(a.mix - b.mix) })
		for _, s := range part.segments {
			s.offset += (part.step - c.step) * float64(s.from+s.to) / 2
			c.segments = append(c.segments, s)
		}
		c.found += part.found
		sortSegments(c.segments)
		c.forward()
	}
	return nil
}

// gap returns the longest stretch of sounding mix with no place in the print that has not been given up.
func (t *tracker) gap(c *course) (from, to int64) {
	least := int64(lost * float64(t.mixRate))
	at := int64(0)
	ends := append(slices.Clone(c.segments), segment{from: t.mixFrames, to: t.mixFrames})
	for _, s := range ends {
		a, b := at, s.from
		at = max(at, s.to)
		given := slices.ContainsFunc(t.missing, func(m [2]int64) bool { return a < m[1] && m[0] < b })
		if b-a >= least && b-a > to-from && !given && len(t.starts(a, b, 50)) > 1 {
			from, to = a, b
		}
	}
	return from, to
}

// search finds where a stretch of the mix lies in the print, if it is there at all.
func (t *tracker) search(ctx context.Context, c *course, from, to int64, spots []placing) (line, bool, error) {
	perFrame := float64(outlineHz) / float64(t.mixRate)
	p := piece{from: int(float64(from) * perFrame), to: min(int(float64(to)*perFrame), t.mixOutline.frames())}
	p.to = min(p.to, p.from+pieceFrames)
	var tries []line
	toFrames := float64(t.printRate) / outlineHz
	if t.printOut.frames() > p.to-p.from && sounds(t.mixOutline, p) {
		answer := newCorrelator(t.printOut, p.to-p.from).correlate(t.mixOutline, p)
		for range 4 {
			best := 0
			for i, v := range answer {
				if v > answer[best] {
					best = i
				}
			}
			if answer[best] <= 0.05 {
				break
			}
			tries = append(tries, line{step: c.step, offset: float64(best)*toFrames - float64(p.from)/perFrame*c.step})
			clear(answer[max(0, best-apartFrames):min(len(answer), best+apartFrames)])
		}
	}
	for _, s := range spots {
		tries = append(tries, line{step: c.step, offset: s.delayS * float64(t.printRate)})
	}
	for _, l := range tries {
		first, last := t.overlap(l, from, to)
		starts := t.starts(first, last, 12)
		if len(starts) < 2 {
			continue
		}
		got, err := survey(ctx, t.mix, t.print, t.kernel, starts, func(int64) line { return l })
		if err != nil {
			return l, false, err
		}
		found := 0
		for _, a := range got {
			if a.found() {
				found++
			}
		}
		if found >= 2 && 2*found >= len(got) {
			return l, true, nil
		}
	}
	return line{}, false, nil
}

// settle puts the ends of the segments where they belong: at the ends of the files, and between two segments at the frame
// where the print fits the one better than the other.
func (t *tracker) settle(ctx context.Context, c *course, k tie) error {
	p, err := openPair(t.mix, t.print, t.kernel)
	if err != nil {
		return err
	}
	defer p.close() //nolint:errcheck // opened for reading
	for i := range c.segments {
		s := &c.segments[i]
		if i == 0 {
			s.from = 0
		}
		if i == len(c.segments)-1 {
			s.to = t.mixFrames
		}
		s.from, s.to = t.overlap(c.line(*s), s.from, s.to)
	}
	for i := 1; i < len(c.segments); i++ {
		if err := ctx.Err(); err != nil {
			return err
		}
		a, b := &c.segments[i-1], &c.segments[i]
		if b.from-a.to > int64(20*t.mixRate) {
			continue // something long is missing between them: the anchors' ends are as near as can be told
		}
		if err := t.boundary(p, c, a, b, k); err != nil {
			return err
		}
	}
	c.segments = slices.DeleteFunc(c.segments, func(s segment) bool { return s.to-s.from < int64(t.block)/4 })
	return nil
}

// boundary finds the frame at which one segment gives way to the next.
func (t *tracker) boundary(p *pairReader, c *course, a, b *segment, k tie) error {
	margin := int64(t.block) / 2
	from, to := max(a.from, a.to-2*margin), min(b.to, b.from+2*margin)
	const hop = 64
	n := (to - from) / hop
	if n <= 0 {
		return nil
	}
	x, y := planes(hop+1), planes(hop+1)
	fit := func(at int64, l line) (float64, error) {
		if err := p.readMix(at, x); err != nil {
			return 0, err
		}
		if err := p.readPrint(at, l, y); err != nil {
			return 0, err
		}
		var sum float64
		for side := range x {
			xs, ys := x[side], y[k.other(side)]
			for j := 1; j <= hop; j++ { // differences: the lows, which fit nearly everywhere, count less
				sum += k.sign[side] * float64(xs[j]-xs[j-1]) * float64(ys[j]-ys[j-1])
			}
		}
		return sum, nil
	}
	// The mix frames that the print leaves out fit neither, so the sum runs over a before them and over b behind them.
	skipped := max(0, int64(math.Round((a.offset-b.offset)/c.step)))
	before, behind := make([]float64, n+1), make([]float64, n+1)
	for j := range n {
		at := from + j*hop
		fa, err := fit(at, c.line(*a))
		if err != nil {
			return err
		}
		fb, err := fit(at, c.line(*b))
		if err != nil {
			return err
		}
		before[j+1], behind[j+1] = before[j]+fa, behind[j]+fb
	}
	best, most := int64(0), math.Inf(-1)
	for j := range n + 1 {
		again := min(n, j+(skipped+hop/2)/hop)
		if v := before[j] + behind[n] - behind[again]; v > most {
			best, most = j, v
		}
	}
	a.to = max(a.from, from+best*hop)
	b.from = min(b.to, a.to+skipped)
	return nil
}

func planes(n int) [2][]float32 { return [2][]float32{make([]float32, n), make([]float32, n)} }
