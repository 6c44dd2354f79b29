package printcheck

import (
	"context"

	"golang.org/x/sync/errgroup"

	"foldout/features/fft"
)

// The first pass over the aligned files gathers, stretch by stretch, averaged spectra under Hann windows, and the exact
// correlations from which the best linear fit is solved.
const (
	spectrumSize  = 1 << 14 // at up to 50 kHz
	stretchLeastS = 4.0
	maxStretches  = 48
	tapShare      = 4    // the fit has a quarter of spectrumSize taps: 85 ms
	manyHops      = 1000 // every other hop is correlated in a song of more than that, three minutes: the filters get no better
	leadShare     = 8    // an eighth of them lies before the sound: linear-phase filters ring ahead
)

// stretch is a part of one segment, measured on its own, so that figures have a spread.
type stretch struct {
	seg      int
	from, to int64
	fold     int // 0 or 1: what is fitted on one half is tried on the other
}

// stretches cuts the segments.
func stretches(c *course, size int, rate int) []stretch {
	length := max(int64(stretchLeastS*float64(rate)), c.frames()/maxStretches)
	length = min(length, max(c.frames()/8, int64(2*size)))
	hop := int64(size / 2)
	length = max(length/hop, 2) * hop
	var all []stretch
	for i, s := range c.segments {
		for at := s.from; at+2*hop <= s.to; at += length {
			to := min(at+length, s.to)
			if s.to-to < length/2 {
				to = s.to
			}
			all = append(all, stretch{seg: i, from: at, to: to, fold: len(all) % 2})
			if to == s.to {
				break
			}
		}
	}
	return all
}

// sums are what a stretch, or the whole, adds up to; lines 0..size/2. The print's sides are the mix's: swaps and polarity
// have been undone.
type sums struct {
	frames   int
	xx, yy   [2][]float64    // power of mix and print, by side
	xlr, ylr []float64       // real part of left against right
	xy       [2][]complex128 // conj(mix) * print, side by side
}

func newSums(lines int) *sums {
	s := &sums{xlr: make([]float64, lines), ylr: make([]float64, lines)}
	for c := range 2 {
		s.xx[c], s.yy[c], s.xy[c] = make([]float64, lines), make([]float64, lines), make([]complex128, lines)
	}
	return s
}

func (s *sums) add(o *sums) {
	s.frames += o.frames
	for k := range s.xlr {
		s.xlr[k] += o.xlr[k]
		s.ylr[k] += o.ylr[k]
	}
	for c := range 2 {
		for k := range s.xlr {
			s.xx[c][k] += o.xx[c][k]
			s.yy[c][k] += o.yy[c][k]
			s.xy[c][k] += o.xy[c][k]
		}
	}
}

// brief is what is kept of one stretch: both sides together.
type brief struct {
	xy     []complex64
	xx, yy []float32
	width  []widths // per band
	frames int
}

// widths holds mid and side power of mix and print in a band.
type widths struct{ xm, xs, ym, ys float64 }

// correlations are exact sums of products over the frames n of one half of the song: xx[a][b] at lag -taps..taps of
// x_a(n) x_b(n + lag), xy[a][j] at lag -lead..taps-lead of x_a(n) y_j(n + lag). Both run over the same n, so that for a
// print that is a filtered mix the equations of the fit hold exactly. While they are gathered they are spectra.
type correlations struct {
	xx, xy [2][2][]complex128
}

func newCorrelations(lines int) *correlations {
	c := &correlations{}
	for a := range 2 {
		for b := range 2 {
			c.xx[a][b], c.xy[a][b] = make([]complex128, lines), make([]complex128, lines)
		}
	}
	return c
}

// gathered is the result of the pass.
type gathered struct {
	size   int
	taps   int // of the fit
	lead   int // frames by which the fit may look ahead
	all    *sums
	briefs []brief
	folds  [2]*correlations
}

// gatherer is one worker of the pass.
type gatherer struct {
	*pairReader
	a      *aligned
	g      *gathered
	t      *fft.FFT
	window []float32
	x, y   [2][]float32 // size frames each
	long   [2][]float32 // the print from lead frames earlier; y is its last part, late its first
	late   [2][]float32
	longX  [2][]float32 // the mix from taps frames earlier, likewise
	lateX  [2][]float32
	seg    int   // whose frames x and long hold
	next   int64 // the frame that follows on them a hop later
	half   [2][]float32
	bx, by [2]spectrum // of the sides
	bh     [2]spectrum
	every  int // of the hops is correlated
	hops   int
	bands  []band
	total  *sums
	folds  [2]*correlations
	one    *sums
}

const workers = 2

func gather(ctx context.Context, a *aligned, parts []stretch, bands []band, size int, step func()) (*gathered, error) {
	lines := size/2 + 1
	g := &gathered{size: size, taps: size / tapShare, lead: size / tapShare / leadShare, all: newSums(lines), briefs: make([]brief, len(parts))}
	g.folds = [2]*correlations{newCorrelations(lines), newCorrelations(lines)}
	list := make([]*gatherer, workers)
	group, ctx := errgroup.WithContext(ctx)
	for w := range workers {
		group.Go(func() error {
			p, err := openPair(a.mix, a.print, a.kernel)
			if err != nil {
				return err
			}
			defer p.close() //nolint:errcheck // opened for reading
			m := newGatherer(p, a, g, bands)
			list[w] = m
			for i := w; i < len(parts); i += workers {
				if err := ctx.Err(); err != nil {
					return err
				}
				if g.briefs[i], err = m.stretch(parts[i]); err != nil {
					return err
				}
				step()
			}
			return nil
		})
	}
	if err := group.Wait(); err != nil {
		return nil, err
	}
	for _, m := range list {
		g.all.add(m.total)
		for f := range g.folds {
			g.folds[f].add(m.folds[f])
		}
	}
	return g, nil
}

func (c *correlations) add(o *correlations) {
	for a := range 2 {
		for b := range 2 {
			for k := range c.xx[a][b] {
				c.xx[a][b][k] += o.xx[a][b][k]
				c.xy[a][b][k] += o.xy[a][b][k]
			}
		}
	}
}

func newGatherer(p *pairReader, a *aligned, g *gathered, bands []band) *gatherer {
	n := g.size
	m := &gatherer{pairReader: p, a: a, g: g, t: fft.New(n), window: hann(n), bands: bands}
	m.longX, m.long, m.half, m.seg = planes(n+g.taps), planes(n+g.lead), planes(n), -1
	for c := range m.long {
		m.lateX[c], m.x[c] = m.longX[c][:n], m.longX[c][g.taps:]
		m.late[c], m.y[c] = m.long[c][:n], m.long[c][g.lead:]
	}
	lines := n/2 + 1
	for c := range 2 {
		m.bx[c], m.by[c], m.bh[c] = newSpectrum(lines), newSpectrum(lines), newSpectrum(lines)
	}
	m.every = 1 + int(a.course.frames()/int64(n/2)/manyHops)
	m.total, m.one = newSums(lines), newSums(lines)
	m.folds = [2]*correlations{newCorrelations(lines), newCorrelations(lines)}
	return m
}

// readBoth fills x with the mix from start on and y with the print, its sides and polarity made those of the mix.
func (a *aligned) readPrint(p *pairReader, seg int, start int64, y [2][]float32) error {
	if a.tie.swapped {
		y[0], y[1] = y[1], y[0]
	}
	if err := p.readPrint(start, a.course.line(a.course.segments[seg]), y); err != nil {
		return err
	}
	for c := range 2 {
		if a.tie.sign[c] < 0 {
			plane := y[a.tie.other(c)]
			for i, v := range plane {
				plane[i] = -v
			}
		}
	}
	return nil
}

// stretch measures one stretch and adds it to the worker's total.
func (m *gatherer) stretch(s stretch) (brief, error) {
	n, hop := int64(m.g.size), int64(m.g.size/2)
	m.one.reset()
	begin, end := m.a.course.segments[s.seg].from, m.a.course.segments[s.seg].to
	for at := s.from; at+hop <= s.to; at += hop {
		if err := m.advance(s.seg, at); err != nil {
			return brief{}, err
		}
		if silent(m.x[0]) && silent(m.x[1]) {
			continue
		}
		if holds(m.x, m.y) {
			// The lags must not reach beyond the segment: there the print holds something else.
			if m.hops++; m.hops%m.every == 0 && at-int64(m.g.lead) >= begin && at+hop+int64(m.g.taps-m.g.lead) <= end {
				m.correlate(m.folds[s.fold])
			}
			if at+n <= end {
				m.frame()
			}
		}
	}
	m.total.add(m.one)
	return m.brief(), nil
}

// advance fills longX and long for a hop that begins at a frame, keeping what they hold already.
func (m *gatherer) advance(seg int, at int64) error {
	n, hop := m.g.size, m.g.size/2
	from := 0
	if seg == m.seg && at == m.next {
		from = n - hop
		for c := range 2 {
			copy(m.longX[c], m.longX[c][hop:])
			copy(m.long[c], m.long[c][hop:])
		}
	}
	m.seg, m.next = seg, at+int64(hop)
	if from == 0 {
		if err := m.readMix(at-int64(m.g.taps), m.longX); err != nil {
			return err
		}
		return m.a.readPrint(m.pairReader, seg, at-int64(m.g.lead), m.long)
	}
	if err := m.readMix(at+int64(from), tail(m.x, from)); err != nil {
		return err
	}
	return m.a.readPrint(m.pairReader, seg, at+int64(from), tail(m.y, from))
}

func tail(p [2][]float32, from int) [2][]float32 { return [2][]float32{p[0][from:], p[1][from:]} }

// holds is false where the print stops, be it for 10 ms, although the mix goes on: a dropout says nothing about the chain.
func holds(x, y [2][]float32) bool {
	const part = 512
	type energy struct{ x, y float32 }
	var parts []energy
	var all energy
	for at := 0; at < len(x[0]); at += part {
		var e energy
		for c := range x {
			for i := at; i < min(at+part, len(x[c])); i++ {
				e.x += x[c][i] * x[c][i]
				e.y += y[c][i] * y[c][i]
			}
		}
		parts = append(parts, e)
		all.x, all.y = all.x+e.x, all.y+e.y
	}
	if all.y <= 1e-9*all.x {
		return false
	}
	for _, e := range parts {
		if e.x*float32(len(parts)) > 0.01*all.x && e.y*all.x < 3e-4*e.x*all.y {
			return false
		}
	}
	return true
}

func silent(x []float32) bool {
	for _, v := range x {
		if v != 0 {
			return false
		}
	}
	return true
}

func (s *sums) reset() {
	s.frames = 0
	clear(s.xlr)
	clear(s.ylr)
	for c := range 2 {
		clear(s.xx[c])
		clear(s.yy[c])
		clear(s.xy[c])
	}
}

// frame adds the spectra of x and y under the window.
func (m *gatherer) frame() {
	m.t.Transform(m.x[0], m.x[1], m.window)
	split(m.t, m.bx)
	m.t.Transform(m.y[0], m.y[1], m.window)
	split(m.t, m.by)
	s := m.one
	s.frames++
	l, r, p, q := m.bx[0], m.bx[1], m.by[0], m.by[1]
	for k := 1; k <= m.g.size/2; k++ {
		lr, li, rr, ri := l.re[k], l.im[k], r.re[k], r.im[k]
		pr, pi, qr, qi := p.re[k], p.im[k], q.re[k], q.im[k]
		s.xx[0][k] += float64(lr*lr + li*li)
		s.xx[1][k] += float64(rr*rr + ri*ri)
		s.xlr[k] += float64(lr*rr + li*ri)
		s.yy[0][k] += float64(pr*pr + pi*pi)
		s.yy[1][k] += float64(qr*qr + qi*qi)
		s.ylr[k] += float64(pr*qr + pi*qi)
		s.xy[0][k] += complex(float64(lr*pr+li*pi), float64(lr*pi-li*pr))
		s.xy[1][k] += complex(float64(rr*qr+ri*qi), float64(rr*qi-ri*qr))
	}
}

// unpack returns line k of the two real signals in a transform of n points.
func unpack(z spectrum, k, n int) (ar, ai, br, bi float32) {
	j := (n - k) & (n - 1)
	ur, ui, vr, vi := z.re[k], z.im[k], z.re[j], z.im[j]
	return (ur + vr) / 2, (ui - vi) / 2, (ui + vi) / 2, (vr - ur) / 2
}

// correlate adds the products of the first half of x with the mix from taps frames earlier and with the print from lead
// frames earlier. Of a transform of n points n/2 + 1 lags come out whole.
func (m *gatherer) correlate(to *correlations) {
	hop := m.g.size / 2
	for c := range m.half {
		copy(m.half[c][:hop], m.x[c][:hop])
	}
	m.t.Transform(m.half[0], m.half[1], nil)
	split(m.t, m.bh)
	m.t.Transform(m.lateX[0], m.lateX[1], nil)
	split(m.t, m.bx)
	m.t.Transform(m.late[0], m.late[1], nil)
	split(m.t, m.by)
	for a := range 2 {
		h := m.bh[a]
		for b := range 2 {
			addProducts(to.xx[a][b], h, m.bx[b])
			addProducts(to.xy[a][b], h, m.by[b])
		}
	}
}

// addProducts adds conj(h) * x line by line.
func addProducts(to []complex128, h, x spectrum) {
	n := len(to)
	hr, hi, xr, xi := h.re[:n], h.im[:n], x.re[:n], x.im[:n]
	for k := range to {
		a, b, c, d := float64(hr[k]), float64(hi[k]), float64(xr[k]), float64(xi[k])
		to[k] += complex(a*c+b*d, a*d-b*c)
	}
}

func times(a, b complex128) complex128 {
	return complex(real(a)*real(b)-imag(a)*imag(b), real(a)*imag(b)+imag(a)*real(b))
}

// brief condenses the stretch.
func (m *gatherer) brief() brief {
	s := m.one
	lines := len(s.xlr)
	b := brief{xy: make([]complex64, lines), xx: make([]float32, lines), yy: make([]float32, lines), frames: s.frames}
	for k := range lines {
		b.xy[k] = complex64(s.xy[0][k] + s.xy[1][k])
		b.xx[k] = float32(s.xx[0][k] + s.xx[1][k])
		b.yy[k] = float32(s.yy[0][k] + s.yy[1][k])
	}
	for _, band := range m.bands {
		x, xlr := bandSum(band, b.xx), bandSum(band, s.xlr)
		y, ylr := bandSum(band, b.yy), bandSum(band, s.ylr)
		b.width = append(b.width, widths{(x + 2*xlr) / 4, (x - 2*xlr) / 4, (y + 2*ylr) / 4, (y - 2*ylr) / 4})
	}
	return b
}
