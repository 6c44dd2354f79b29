package trace

import (
	"context"
	"fmt"
	"math"
	"path/filepath"
	"runtime"

	"golang.org/x/sync/errgroup"

	"foldout/features"
	"foldout/features/align"
	"foldout/plan/linecheck/tones"
)

// Options steer a trace.
type Options struct {
	ToleranceDB float64 // how far outputs may differ in gain; 0: 0.3
	Progress    func(done, total int64)
}

// DefaultToleranceDB is how far outputs may differ in gain.
const DefaultToleranceDB = 0.3

// tracer holds what all steps need.
type tracer struct {
	plan    *tones.Plan
	program *tones.Program
	rec     *recording
	clock   clock
	sweep   *deconvolver
	first   []heard // chirps of the first sync signal, loudest side of each
	last    []heard
	drift   drift
	slots   []*slotFigures
	quiet   []quiet // average silence of each side
	hum     []*hum  // of each side
	notes   []Verdict
	broken  bool    // the sync signals do not lie as far apart as they were played
	lastOff float64 // frames by which the last sync was looked for away from the clock
	after   *clock  // that holds after a break
}

type drift struct {
	ppm, sigma float64
	from       string
}

// Trace analyses a recording of the tones in the plan. Errors name the file: it cannot be read, it is silent, it does not
// hold the tones.
func Trace(ctx context.Context, path string, plan *tones.Plan, o Options) (*Result, error) {
	if o.ToleranceDB == 0 {
		o.ToleranceDB = DefaultToleranceDB
	}
	t := &tracer{plan: plan, program: plan.Program()}
	var err error
	if t.rec, err = open(path); err != nil {
		return nil, err
	}
	if err := t.synchronise(ctx, o.Progress); err != nil {
		return nil, err
	}
	if err := t.analyse(ctx); err != nil {
		return nil, err
	}
	return t.judge(path, o)
}

// synchronise finds the take in the recording and its clock.
func (t *tracer) synchronise(ctx context.Context, progress func(done, total int64)) error {
	rate, note := t.rec.rate, ""
	if err := t.rec.scan(ctx, rate, progress); err != nil {
		return err
	}
	if t.rec.info.Frames == 0 || t.rec.peak == 0 {
		return fmt.Errorf("%s is silent: the print track recorded nothing; check that it was armed, and its input", t.rec.path)
	}
	found := t.rec.events.findSyncs(t.program)
	if found.first == nil && found.last == nil && t.rec.info.SampleRateHz != t.plan.RateHz {
		// perhaps the file was only labelled wrong
		t.rec.rate = float64(t.plan.RateHz)
		if err := t.rec.scan(ctx, t.rec.rate, progress); err != nil {
			return err
		}
		found = t.rec.events.findSyncs(t.program)
		note = fmt.Sprintf("The file says %g kHz but plays like %g kHz: the label is wrong, or a conversion went missing. The figures are read as %g kHz; record and export at the rate of the tones.", rate/1000, t.rec.rate/1000, t.rec.rate/1000)
	} else if t.rec.info.SampleRateHz != t.plan.RateHz {
		note = fmt.Sprintf("The return is at %g kHz and the tones are at %g kHz: something converted the rate. Nothing is lost below 20 kHz, but set the session to one rate.", rate/1000, float64(t.plan.RateHz)/1000)
	}
	if found.first == nil && found.last == nil {
		return t.unrelated()
	}
	if note != "" {
		t.notes = append(t.notes, Verdict{Severity: Note, Text: note})
	}
	return t.setClock(found)
}

// unrelated is the error for a recording in which the tones are not found.
func (t *tracer) unrelated() error {
	return fmt.Errorf("%s does not hold the sync signal of these tones (%.0f s long, peak %.1f dBFS): is it the recording of this folder's tones, from before their start? If it is, every output may be dead or buried in noise: check the routing, the print track's input and the level of the tones",
		t.rec.path, float64(t.rec.info.Frames)/t.rec.rate, 20*math.Log10(t.rec.peak))
}

// setClock makes the clock exact: first by the chirps, then by their distance or by the tones.
func (t *tracer) setClock(found syncs) error {
	c := clock{scale: t.rec.rate}
	switch {
	case found.first != nil && found.last != nil:
		gap := t.program.Last.Span.Start - t.program.First.Span.Start
		ratio := (found.last.at - found.first.at) / gap
		if t.broken = math.Abs(ratio-1)*gap > maxPPM*1e-6*gap+0.02; !t.broken {
			c.scale = t.rec.rate * ratio
		}
		c.origin = found.first.at*t.rec.rate - c.scale*t.program.First.Span.Start
	case found.first != nil:
		c.origin = found.first.at*t.rec.rate - c.scale*t.program.First.Span.Start
	default:
		c.origin = found.last.at*t.rec.rate - c.scale*t.program.Last.Span.Start
	}
	t.clock = c
	if t.broken {
		if err := t.doubtBreak(found); err != nil {
			return err
		}
	}
	for pass := range 3 {
		if err := t.listen(found); err != nil {
			return err
		}
		if len(t.first)+len(t.last) == 0 {
			return t.unrelated()
		}
		ppm, err := t.measureDrift()
		if err != nil {
			return err
		}
		t.shiftClock(ppm)
		if math.Abs(ppm) < 0.001 && pass > 0 {
			break
		}
	}
	// One clock for both ways is what nearly every studio has: a drift that cannot be told from 0 is 0.
	total := (t.clock.scale/t.rec.rate - 1) * 1e6
	if math.Abs(total) < max(0.003, 4*t.drift.sigma) {
		t.shiftClock(-total)
	}
	t.drift.ppm = (t.clock.scale/t.rec.rate - 1) * 1e6
	if err := t.listen(found); err != nil {
		return err
	}
	if t.broken {
		t.findBreak()
	}
	return nil
}

// The distance of the sync signals and the frequency of the tones must tell the same drift, within this many parts per
// million. Otherwise samples are missing in between, or there are too many.
const agreePPM = 0.3

// leastBreak is the least number of samples that a break loses or adds: there is no part of one.
const leastBreak = 0.5

// between is how many frames lie between the sync signals.
func (t *tracer) between() float64 {
	return (t.program.Last.Span.Start - t.program.First.Span.Start) * t.clock.scale
}

// measureDrift reads the drift that is left, in parts per million of the clock as it is now.
func (t *tracer) measureDrift() (float64, error) {
	byTones, sigmaTones, tonesOK, err := t.tonesDrift()
	if err != nil {
		return 0, err
	}
	bySyncs, sigmaSyncs, syncsOK := between(t.first, t.last, t.clock)
	if off := math.Abs(bySyncs - byTones); syncsOK && tonesOK && off > max(agreePPM, 8*math.Hypot(sigmaSyncs, sigmaTones)) && off*1e-6*t.between() > leastBreak {
		t.broken = true
	}
	switch {
	case syncsOK && !t.broken:
		t.drift = drift{from: "both sync signals", sigma: sigmaSyncs}
		return bySyncs, nil
	case tonesOK:
		t.drift = drift{from: "the tones", sigma: sigmaTones}
		return byTones, nil
	}
	t.drift = drift{from: "nothing", sigma: math.Inf(1)}
	return 0, nil
}

// doubtBreak takes the break back where the last sync signal is heard as well, or better, at the place that it has without
// one: a few chirps, when the others are missing, fit the pattern at several places.
func (t *tracer) doubtBreak(found syncs) error {
	if err := t.listen(found); err != nil {
		return err
	}
	with := len(t.last)
	t.broken = false
	if err := t.listen(found); err != nil {
		return err
	}
	t.broken = len(t.last) < with || with == 0
	return nil
}

// findBreak finds how many samples came in or went missing between the sync signals, from outputs heard in both, and the
// clock that holds after the break.
func (t *tracer) findBreak() {
	var steps []float64
	for _, l := range t.last {
		for _, f := range t.first {
			if f.output == l.output && f.side == l.side {
				steps = append(steps, l.delay-f.delay)
			}
		}
	}
	if len(steps) == 0 {
		t.broken = false
		return
	}
	after := t.clock
	after.origin += align.Median(steps) + t.lastOff
	t.after = &after
}

// shiftClock turns the clock faster by so many parts per million around the sync it hangs on, and moves it by the middle
// of the delays heard.
func (t *tracer) shiftClock(ppm float64) {
	anchor := t.program.First.Span.Start
	list := t.first
	if len(list) == 0 {
		anchor, list = t.program.Last.Span.Start, t.last
	}
	var delays []float64
	for _, h := range list {
		delays = append(delays, h.delay)
	}
	place := t.clock.place(anchor) + align.Median(delays)
	t.clock.scale *= 1 + ppm*1e-6
	t.clock.origin = place - t.clock.scale*anchor
}

func (t *tracer) listen(found syncs) error {
	amplitude := math.Pow(10, t.plan.ToneDBFS()/20)
	t.first, t.last = nil, nil
	for n, p := range []*place{found.first, found.last} {
		if p == nil {
			continue
		}
		c := t.clock
		if n == 1 && t.broken { // after a break the clock does not hold
			t.lastOff = p.at*t.rec.rate - c.place(t.program.Last.Span.Start)
			c.origin += t.lastOff
		}
		all, err := t.rec.listenChirps([]tones.Sync{t.program.First, t.program.Last}[n], c, amplitude)
		if err != nil {
			return err
		}
		*[]*[]heard{&t.first, &t.last}[n] = loudest(all)
	}
	return nil
}

// tonesDrift reads the drift from the frequency of the single tones and of the long one.
func (t *tracer) tonesDrift() (ppm, sigma float64, ok bool, err error) {
	spans := []tones.Span{t.program.LongTone}
	for _, s := range t.program.Slots {
		spans = append(spans, s.Tone)
	}
	var values, weights []float64
	for _, s := range spans {
		x, _, whole, err := t.read(inner(s), 0, 0, 0)
		if err != nil {
			return 0, 0, false, err
		}
		if !whole {
			continue
		}
		for _, y := range x {
			if p, e, ok := drifting(y, t.clock); ok {
				values, weights = append(values, p), append(weights, 1/e)
			}
		}
	}
	if len(values) == 0 {
		return 0, 0, false, nil
	}
	ppm, sigma = settled(values, weights)
	return ppm, sigma, true, nil
}

// analyse goes through the slots, as many at once as there are processors, and through what all play together.
func (t *tracer) analyse(ctx context.Context) error {
	slot := t.program.Slots[0]
	seconds := leadSeconds + slot.Tone.Start - slot.Sweep.Start + 0.1
	t.sweep = newDeconvolver(t.program.Sweep, t.clock.scale, int(seconds*t.clock.scale), math.Pow(10, t.plan.ToneDBFS()/20))
	t.slots = make([]*slotFigures, len(t.plan.Sends))
	g, ctx := errgroup.WithContext(ctx)
	g.SetLimit(max(1, runtime.GOMAXPROCS(0)))
	for i := range t.slots {
		g.Go(func() error {
			if err := ctx.Err(); err != nil {
				return err
			}
			f, err := t.slot(i)
			if err == nil && t.after != nil {
				f, err = t.acrossBreak(i, f)
			}
			t.slots[i] = f
			return err
		})
	}
	if err := g.Wait(); err != nil {
		return err
	}
	if !t.plausible() {
		return t.unrelated()
	}
	for side := range t.rec.info.Channels {
		var list []quiet
		for _, f := range t.slots {
			if len(f.silence) > side {
				list = append(list, f.silence[side])
			}
		}
		q := average(list)
		t.quiet = append(t.quiet, q)
		t.hum = append(t.hum, humOf(q))
	}
	return nil
}

// plausible says that what was taken for the sync signal is one: an output answers in its own turn, or where no turn lies
// within the recording, a chirp stands out clearly.
func (t *tracer) plausible() bool {
	turns := false
	for i, f := range t.slots {
		if t.alive(i) {
			return true
		}
		turns = turns || f.heard
	}
	clear := 0
	for _, h := range append(append([]heard(nil), t.first...), t.last...) {
		if h.snr > chirpClear {
			clear++
		}
	}
	return !turns && clear > 1
}

// acrossBreak looks at a slot with the clock after the break as well, and takes the reading that fits the delay that the
// output had in the sync signals.
func (t *tracer) acrossBreak(i int, before *slotFigures) (*slotFigures, error) {
	u := *t
	u.clock = *t.after
	after, err := u.slot(i)
	if err != nil {
		return nil, err
	}
	after.late = true
	switch {
	case !after.heard || after.stands <= standing && before.stands > standing:
		return before, nil
	case !before.heard || before.stands <= standing:
		return after, nil
	}
	usual := 0.0
	for _, h := range t.first {
		if h.output == i {
			usual = h.delay
		}
	}
	if math.Abs(after.delay-usual) < math.Abs(before.delay-usual) {
		return after, nil
	}
	return before, nil
}

// result collects the figures.
func (t *tracer) result(path string, o Options) *Result {
	r := &Result{
		Schema: Schema, Return: filepath.Base(path), SampleRateHz: t.rec.info.SampleRateHz, Rig: t.plan.Rig, Unit: t.plan.Unit,
		ToneDBFS: t.plan.ToneDBFS(), ToleranceDB: o.ToleranceDB,
		DriftPPM: tidy(t.drift.ppm, 4), DriftSigmaPPM: tidy(min(t.drift.sigma, 1e6), 5), DriftFrom: t.drift.from,
		PeakDBFS: features.DB(tidy(20*math.Log10(t.rec.peak), 2)), LatencySamples: none, GainDB: none, NoiseDBFS: none, NoiseADBFS: none,
	}
	r.ClippedSamples, _ = t.rec.clips.samples()
	r.Complete = t.complete()
	for i := range t.slots {
		r.Channels = append(r.Channels, t.channel(i))
	}
	t.delays(r)
	t.noise(r)
	for i := 0; i+1 < len(r.Channels); i += 2 {
		a, b := r.Channels[i], r.Channels[i+1]
		r.Pairs = append(r.Pairs, Pair{Outputs: [2]int{a.Output, b.Output}, Name: t.plan.Sends[i].Name,
			GainDB: b.GainDB - a.GainDB, DelaySamples: features.DB(tidy(float64(b.DelaySamples-a.DelaySamples), 3))})
	}
	return r
}

func tidy(v float64, digits int) float64 {
	p := math.Pow(10, float64(digits))
	return math.Round(v*p)/p + 0 // no minus zero
}

// complete says whether the whole program lies within the recording.
func (t *tracer) complete() bool {
	const grace = 0.01 // seconds; the last chirp is faded there
	return !t.broken && t.clock.place(t.program.First.Span.Start) >= -grace*t.rec.rate && t.clock.place(t.program.Last.Span.End()) <= float64(t.rec.info.Frames)+grace*t.rec.rate
}

func (t *tracer) noise(r *Result) {
	loud := math.Inf(-1)
	for side, q := range t.quiet {
		if len(q.power) == 0 {
			continue
		}
		flat, a := q.level(t.hum[side])
		if flat > loud {
			loud = flat
			r.NoiseDBFS, r.NoiseADBFS = features.DB(tidy(flat, 2)), features.DB(tidy(a, 2))
		}
		if h := t.hum[side]; h != nil {
			db := features.DB(tidy(decibels(2*h.power), 2))
			if r.Hum == nil || db > r.Hum.DBFS {
				r.Hum = &Hum{Hz: h.hz, DBFS: db, Harmonics: h.lines}
			}
		}
	}
}
