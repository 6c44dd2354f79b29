package printcheck

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"sync"

	"foldout/features"
)

// Options of Compare.
type Options struct {
	Progress func(done, total int64) // may be nil
}

// Compare compares a mix with its print. Errors name the file and say what to do; ErrUnrelated when the two do not hold the
// same music.
func Compare(ctx context.Context, mix, print string, opt Options) (*Result, error) {
	a, err := align(ctx, mix, print)
	if err != nil {
		return nil, err
	}
	size := spectrumSize * scaleOf(a.mixRate)
	for size > 1024 && a.course.frames() < int64(4*size) { // short excerpts make do with less
		size /= 2
	}
	bands := bandsOf(size, a.mixRate, a.printRate)
	parts := stretches(a.course, size, a.mixRate)
	if len(parts) == 0 {
		return nil, unrelated(mix, print)
	}
	counter := newCounter(opt.Progress, int64(2*len(parts)))
	g, err := gather(ctx, a, parts, bands, size, counter.step)
	if err != nil {
		return nil, err
	}
	r := &Result{Schema: SchemaVersion, aligned: a, parts: parts, gathered: g}
	r.Levels, err = levels(ctx, a)
	if err != nil {
		return nil, err
	}
	if g.all.frames == 0 {
		return nil, fmt.Errorf("%s: what it shares with %s is silent", filepath.Base(print), filepath.Base(mix))
	}
	if err := r.path(g, bands); err != nil {
		return nil, err
	}
	for f := range r.folds {
		from := g.folds[f]
		if len(parts) < 2 { // too short to hold one half back
			from = g.folds[0]
		}
		if r.folds[f], err = solve(ctx, from, size, r.prior); err != nil {
			return nil, err
		}
	}
	w, err := watch(ctx, a, g, parts, r.folds, counter.step)
	if err != nil {
		return nil, err
	}
	if w.unexplained() {
		return nil, unrelated(mix, print)
	}
	r.watched = w
	r.leftovers(g, w)
	r.Claims = claimsOf(r, g, w, bands)
	return r, r.describe()
}

// path fills in what is said of the linear path: delay, gain, sides, bands, widths, segments.
func (r *Result) path(g *gathered, bands []band) error {
	a := r.aligned
	all := g.all
	lines := g.size/2 + 1
	xx, yy, xy := make([]float64, lines), make([]float64, lines), make([]complex128, lines)
	for k := range lines {
		xx[k], yy[k], xy[k] = all.xx[0][k]+all.xx[1][k], all.yy[0][k]+all.yy[1][k], all.xy[0][k]+all.xy[1][k]
	}
	response := responseOf(xx, yy, xy, 2*all.frames, g.size, a.mixRate)
	d := response.delay()
	r.prior = response.prior(d, g.taps, g.lead)
	r.fraction = d.frames
	r.DelaySamples = a.delaySamples() + d.frames
	r.DelayMS = 1000 * r.DelaySamples / float64(a.mixRate)
	r.DelayReading = d.reading
	r.DriftPPM = a.driftPPM()
	if math.Abs(r.DriftPPM) < 1e-9 {
		r.DriftPPM = 0
	}
	r.Swapped = a.tie.swapped
	gains := sideGains(g, bands)
	inverted := 0
	for c := range r.Sides {
		s := &r.Sides[c]
		side := responseOf(all.xx[c], all.yy[c], all.xy[c], all.frames, g.size, a.mixRate).delay()
		s.GainDB, s.DelaySamples, s.Polarity = gains[c], a.delaySamples()+side.frames, "normal"
		if a.tie.sign[c] < 0 {
			s.Polarity = "inverted"
			inverted++
		}
	}
	r.Polarity = [3]string{"normal", "", "inverted"}[inverted]
	if inverted == 1 {
		r.Polarity = "left inverted"
		if a.tie.sign[1] < 0 {
			r.Polarity = "right inverted"
		}
	}
	r.Bands = bandGains(g, bands, a.mixRate)
	r.GainDB = commonGain(r.Bands)
	for i := range r.Bands {
		r.Bands[i].DB -= r.GainDB
		r.Bands[i].LevelDB -= r.GainDB
	}
	r.Register = registersOf(r.Bands)
	r.Width = widthsOf(g, bands)
	return nil
}

// leftovers fills in what the fit leaves.
func (r *Result) leftovers(g *gathered, w *watched) {
	r.LinearResidualDB = w.linearResidualDB()
	r.Noise, r.Hum = w.texture.quietest(), w.hum.hum()
	r.Harm = harmonicsOf(w.stretches)
	var c curve
	for _, s := range w.stretches {
		c.add(&s.curve)
	}
	r.Curve = c.points()
	r.Lossy = lossy(g, w, r.aligned.mixRate)
	r.Events = []Event{}
	for _, e := range w.events {
		if r.Lossy == nil || e.Kind != "click" { // what a codec leaves before a stroke looks like a click
			r.Events = append(r.Events, e)
		}
	}
}

// widthsOf sums the bands up to seven registers.
func widthsOf(g *gathered, bands []band) []Width {
	out := []Width{}
	for _, reg := range registers {
		var t widths
		from, to := 0.0, 0.0
		for i, b := range bands {
			if b.hz < reg.low || b.hz >= reg.high {
				continue
			}
			if from == 0 {
				from = b.low
			}
			to = b.high
			for _, s := range g.briefs {
				w := s.width[i]
				t.xm, t.xs, t.ym, t.ys = t.xm+w.xm, t.xs+w.xs, t.ym+w.ym, t.ys+w.ys
			}
		}
		if t.xm+t.xs <= 0 || t.ym+t.ys <= 0 {
			continue
		}
		var lr, l, rr [2]float64
		for _, b := range bands {
			if b.hz < reg.low || b.hz >= reg.high {
				continue
			}
			lr[0], lr[1] = lr[0]+bandSum(b, g.all.xlr), lr[1]+bandSum(b, g.all.ylr)
			l[0], l[1] = l[0]+bandSum(b, g.all.xx[0]), l[1]+bandSum(b, g.all.yy[0])
			rr[0], rr[1] = rr[0]+bandSum(b, g.all.xx[1]), rr[1]+bandSum(b, g.all.yy[1])
		}
		corr := func(i int) float64 {
			if l[i] == 0 || rr[i] == 0 {
				return 0
			}
			return clamp(lr[i]/math.Sqrt(l[i]*rr[i]), -1, 1)
		}
		ratio := func(s, m float64) features.DB { return features.DB(math.Max(-100, 10*math.Log10(math.Max(s, 0)/m))) }
		out = append(out, Width{FromHz: math.Round(from), ToHz: math.Round(to), MixSideDB: ratio(t.xs, t.xm), PrintSideDB: ratio(t.ys, t.ym), MixCorrelation: corr(0), PrintCorrelation: corr(1)})
	}
	return out
}

// counter reports progress from several goroutines.
type counter struct {
	mu          sync.Mutex
	report      func(done, total int64)
	done, total int64
}

func newCounter(report func(done, total int64), total int64) *counter {
	return &counter{report: report, total: total}
}

func (c *counter) step() {
	if c.report == nil {
		return
	}
	c.mu.Lock()
	defer c.mu.Unlock()
	c.done++
	c.report(c.done, c.total)
}

// describe fills in the files, the segments and the notes.
func (r *Result) describe() error {
	a := r.aligned
	for _, f := range []struct {
		to   *File
		path string
	}{{&r.Mix, a.mix}, {&r.Print, a.print}} {
		s, err := open(f.path)
		if err != nil {
			return err
		}
		info := s.r.Info()
		*f.to = File{Name: filepath.Base(f.path), RateHz: info.SampleRateHz, Channels: info.Channels, DurationS: float64(info.Frames) / float64(info.SampleRateHz)}
		for _, n := range info.Notes {
			r.Notes = append(r.Notes, f.to.Name+": "+n)
		}
		if err := s.close(); err != nil {
			return err
		}
	}
	rate := float64(a.mixRate)
	scale := rate / float64(a.printRate)
	for i, s := range a.course.segments {
		seg := Segment{FromS: float64(s.from) / rate, ToS: float64(s.to) / rate, DelaySamples: s.offset*scale + r.fraction}
		if i > 0 {
			seg.JumpSamples = (s.offset - a.course.segments[i-1].offset) * scale
		}
		r.Segments = append(r.Segments, seg)
	}
	r.Missing = []Missing{}
	at := int64(0)
	for i := range len(a.course.segments) + 1 {
		to := a.mixFrames
		if i < len(a.course.segments) {
			to = a.course.segments[i].from
		}
		if float64(to-at) > 0.002*rate {
			r.Missing = append(r.Missing, Missing{float64(at) / rate, float64(to) / rate})
		}
		if i < len(a.course.segments) {
			at = a.course.segments[i].to
		}
	}
	r.Notes = append(r.Notes, r.remarks()...)
	if r.Notes == nil {
		r.Notes = []string{}
	}
	return nil
}
