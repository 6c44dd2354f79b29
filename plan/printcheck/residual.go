package printcheck

import (
	"context"
	"math"

	"golang.org/x/sync/errgroup"

	"foldout/features/fft"
)

// The second pass puts the mix through the fitted filters and looks at what they leave: print less fit. Each half of the
// song is judged by the filters of the other half, so a filter that has learned the noise by heart gains nothing.

// pass is one worker of it. Planes hold a hop each: x the mix, u the fit, y the print, e what is left.
type pass struct {
	*pairReader
	a        *aligned
	g        *gathered
	taps     int
	t        *fft.FFT
	spectra  [2][2][2]spectrum // of the filters: fold, print side, mix side
	in       [2][]float32      // size frames of the mix
	bins     [2]spectrum
	out      spectrum
	x        [2][]float32
	u, y, e  [2][]float32
	watchers *watchers
}

// watchers are the meters that are fed with the four signals.
type watchers struct {
	curve   curve
	poly    polynomial
	texture *texture
	hum     *humMeter
	events  *eventFinder
	lows    *envelope
	mids    *envelope
}

func newWatchers(rate int) *watchers {
	return &watchers{
		curve: newCurve(rate), texture: newTexture(rate), hum: newHumMeter(rate), events: newEventFinder(rate),
		poly: newPolynomial(rate), lows: newEnvelope(rate, 40, 160), mids: newEnvelope(rate, 2000, 5000),
	}
}

// energies of print and rest, as sums of mean squares.
type energies struct{ y, e float64 }

// heard is what one stretch gave.
type heard struct {
	energy energies
	curve  curve
	poly   moments
	lows   []hit
	spikes [2]float64 // 95th percentile over median of the upper mids' level in 10 ms, dB: mix, print
	spiky  bool       // spikes are known
}

// watched is the whole of the pass.
type watched struct {
	stretches []heard
	texture   *texture
	hum       *humMeter
	events    []Event
}

func watch(ctx context.Context, a *aligned, g *gathered, parts []stretch, folds [2]filters, step func()) (*watched, error) {
	w := &watched{stretches: make([]heard, len(parts))}
	list := make([]*pass, workers)
	found := make([][]Event, len(parts))
	group, ctx := errgroup.WithContext(ctx)
	for n := range workers {
		group.Go(func() error {
			r, err := openPair(a.mix, a.print, a.kernel)
			if err != nil {
				return err
			}
			defer r.close() //nolint:errcheck // opened for reading
			p := newPass(r, a, g, folds)
			list[n] = p
			for i := n; i < len(parts); i += workers {
				if err := ctx.Err(); err != nil {
					return err
				}
				if w.stretches[i], found[i], err = p.stretch(parts[i]); err != nil {
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
	w.texture, w.hum = list[0].watchers.texture, list[0].watchers.hum
	for _, p := range list[1:] {
		w.texture.add(p.watchers.texture)
		w.hum.add(p.watchers.hum)
	}
	for _, f := range found {
		w.events = append(w.events, f...)
	}
	return w, nil
}

func newPass(r *pairReader, a *aligned, g *gathered, folds [2]filters) *pass {
	n := g.size
	p := &pass{pairReader: r, a: a, g: g, t: fft.New(n), taps: len(folds[0][0][0]), watchers: newWatchers(r.mix.rate)}
	p.in, p.bins, p.out = planes(n), [2]spectrum{newSpectrum(n/2 + 1), newSpectrum(n/2 + 1)}, newSpectrum(n)
	p.u, p.y, p.e = planes(n/2), planes(n/2), planes(n/2)
	a32, silence := make([]float32, n), make([]float32, n)
	for f := range folds {
		for j := range 2 {
			for i := range 2 {
				clear(a32)
				for k, v := range folds[f][j][i] {
					a32[k] = float32(v)
				}
				s := newSpectrum(n)
				p.t.Transform(a32, silence, nil)
				p.t.Bins(s.re, s.im)
				p.spectra[f][j][i] = s
			}
		}
	}
	return p
}

func (p *pass) stretch(s stretch) (heard, []Event, error) {
	hop := int64(p.g.size / 2)
	w := p.watchers
	w.begin(s)
	seg := p.a.course.segments[s.seg]
	for at := s.from; at+hop <= s.to; at += hop {
		from := at + int64(p.g.lead) - hop // output sample hop+i of the filter is frame at+i
		if err := p.readMix(from, p.in); err != nil {
			return heard{}, nil, err
		}
		if err := p.a.readPrint(p.pairReader, s.seg, at, p.y); err != nil {
			return heard{}, nil, err
		}
		p.fitted(1 - s.fold)
		// The mix itself lies lead frames before the end of what the filter read.
		p.x = [2][]float32{p.in[0][hop-int64(p.g.lead):][:hop], p.in[1][hop-int64(p.g.lead):][:hop]}
		for c := range 2 {
			for i, v := range p.y[c] {
				p.e[c][i] = v - p.u[c][i]
			}
		}
		w.write(p.x, p.u, p.y, p.e, at-int64(p.taps) >= seg.from && at+hop+int64(p.g.lead) <= seg.to)
	}
	h, events := w.end(p.a.course.line(seg), float64(p.mix.rate), float64(p.print.rate))
	return h, events, nil
}

// fitted fills u with the mix through the filters of a fold (overlap-save).
func (p *pass) fitted(fold int) {
	n := p.g.size
	p.t.Transform(p.in[0], p.in[1], nil)
	split(p.t, p.bins)
	h := &p.spectra[fold]
	x, y := p.bins[0], p.bins[1]
	for k := 0; k <= n/2; k++ {
		ar, ai, br, bi := x.re[k], x.im[k], y.re[k], y.im[k]
		var s [2][2]float32 // print side: re, im
		for j := range 2 {
			l, r := h[j][0], h[j][1]
			s[j][0] = l.re[k]*ar - l.im[k]*ai + r.re[k]*br - r.im[k]*bi
			s[j][1] = l.re[k]*ai + l.im[k]*ar + r.re[k]*bi + r.im[k]*br
		}
		p.out.re[k], p.out.im[k] = s[0][0]-s[1][1], s[0][1]+s[1][0]
		if k > 0 && k < n/2 {
			p.out.re[n-k], p.out.im[n-k] = s[0][0]+s[1][1], s[1][0]-s[0][1]
		}
	}
	p.t.Transform(p.out.im, p.out.re, nil) // the inverse, planes exchanged
	scale := 1 / float32(n)
	for i := range p.u[0] {
		re, im := p.t.At(n/2 + i)
		p.u[1][i], p.u[0][i] = re*scale, im*scale
	}
}

func (w *watchers) begin(s stretch) {
	w.curve.reset()
	w.poly.reset()
	w.hum.begin()
	w.events.begin(s.from)
	w.lows.begin()
	w.mids.begin()
}

// write feeds a hop. whole is false where the filter or the print reaches beyond the
// segment: there the rest is not the chain's.
func (w *watchers) write(x, u, y, e [2][]float32, whole bool) {
	w.events.write(x, u, y, e, whole)
	w.lows.write(x, y)
	w.mids.write(x, y)
	if !whole || !holds(u, y) {
		return
	}
	w.curve.write(u, y)
	w.poly.write(u, e)
	w.texture.write(u, y, e)
	w.hum.writeBoth(e, u)
}

func (w *watchers) end(l line, mixRate, printRate float64) (heard, []Event) {
	h := heard{curve: w.curve.copy(), poly: w.poly.moments, lows: w.lows.hits()}
	h.spikes, h.spiky = w.mids.spikes()
	w.hum.end()
	events, energy := w.events.end(l, mixRate, printRate)
	h.energy = energy
	return h, events
}

// linearResidualDB is the energy of what is left over that of the print, in decibels; never below floorDB.
func (w *watched) linearResidualDB() float64 {
	var y, e float64
	for _, h := range w.stretches {
		y, e = y+h.energy.y, e+h.energy.e
	}
	if y == 0 {
		return 0
	}
	return math.Max(floorDB, 10*math.Log10(e/y))
}

// leastExplained is the share of the print that filters of the mix must explain. Of other music that happens to keep the same beat
// they explain nothing, for each half of the song is judged by the filters of the other.
const leastExplained = 0.1

// unexplained says that the print is not the mix, whatever a linear chain may have done to it.
func (w *watched) unexplained() bool {
	var y, e float64
	for _, h := range w.stretches {
		y, e = y+h.energy.y, e+h.energy.e
	}
	return y > 0 && e > (1-leastExplained)*y
}

// floorDB is the depth below which a rest is rounding.
const floorDB = -130.0
