package trace

import (
	"math"
	"math/cmplx"

	"foldout/features/align"
	"foldout/plan/linecheck/tones"
)

// slotFigures is what one output's slot says, side by side as they came back: 0 left, 1 right.
type slotFigures struct {
	late    bool // it was read with the clock after a break
	heard   bool // the sweep lies within the recording
	sides   []sideFigures
	main    int     // the side on which the output is loudest
	stands  float64 // height of its impulse response over the noise
	delay   float64 // frames against the clock
	sigma   float64
	invert  bool
	tone    []toneFigures // nil where the recording ends before
	tones   []float64     // amplitudes of the six tones alone on the main side; nil as above
	silence []quiet       // nil as above
	zeroRun int           // frames of digital zero in a row in it
	drops   []dip         // moments in which the sound goes away, from the start of the slot
}

type sideFigures struct {
	level     float64   // mean power gain from 200 Hz to 5 kHz
	response  []float64 // power gain at ResponseHz
	harmonics [][]float64
}

// ResponseHz are the frequencies of a response: exact mid-bands of twelfth octaves (IEC 61260-1, base ten), 20 Hz to 20 kHz.
func ResponseHz() []float64 {
	var out []float64
	for k := -68; k <= 52; k++ {
		if hz := 1000 * math.Pow(10, 0.3*float64(k)/12); hz > 19.8 && hz < 20200 {
			out = append(out, hz)
		}
	}
	return out
}

// HarmonicHz are the frequencies of the sweep for which harmonics are given: third octaves from 25 Hz up.
func HarmonicHz() []float64 {
	var out []float64
	for k := -16; k <= 10; k++ {
		out = append(out, 1000*math.Pow(10, 0.1*float64(k)))
	}
	return out
}

// Harmonics that are followed over frequency.
const firstHarmonic, lastHarmonic = 2, 5

const (
	leadSeconds  = 0.3  // that are read before the sweep
	reachSeconds = 0.25 // how far from its place an impulse response is looked for
	gateBefore   = 0.2
	gateAfter    = 0.4
	standing     = 9.0 // an impulse response this far over the noise around counts
)

// read cuts out a part of the program, so many seconds longer at both ends, later by a delay in frames.
func (t *tracer) read(s tones.Span, before, after, delay float64) (x [][]float64, from int64, whole bool, err error) {
	from = int64(math.Floor(t.clock.place(s.Start-before) + delay))
	to := int64(math.Ceil(t.clock.place(s.End()+after) + delay))
	// whole: the span itself lies within the recording, the margins need not
	whole = t.clock.place(s.Start)+delay >= 0 && t.clock.place(s.End())+delay <= float64(t.rec.info.Frames)
	if !whole {
		return nil, from, false, nil
	}
	x, err = t.rec.cut(from, to)
	return x, from, true, err
}

// slot analyses what came back while an output played alone.
func (t *tracer) slot(output int) (*slotFigures, error) {
	slot := t.program.Slots[output]
	f := &slotFigures{}
	after := slot.Tone.Start - slot.Sweep.End() - 0.03
	x, from, whole, err := t.read(slot.Sweep, leadSeconds, after, 0)
	if err != nil || !whole {
		return f, err
	}
	f.heard = true
	zero := t.clock.place(slot.Sweep.Start) - float64(from) // where a response without delay begins
	f.linear(t, x, zero, t.plan.Sends[output].Side)
	if err := f.steady(t, slot, output); err != nil {
		return f, err
	}
	if f.stands > standing {
		f.drops = append(f.drops, t.sweepDrops(x[f.main], zero+f.delay, slot)...)
		if len(f.tone) > 0 {
			for _, d := range f.tone[f.main].dips {
				d.at += slot.Tone.Start - slot.Start() + toneMargin
				f.drops = append(f.drops, d)
			}
		}
	}
	for n := range f.drops {
		if err := t.lookAtDrop(&f.drops[n], slot, f.delay, f.zeroRun); err != nil {
			return f, err
		}
	}
	return f, nil
}

// linear deconvolves the sweep on both sides.
func (f *slotFigures) linear(t *tracer, x [][]float64, zero float64, expected string) {
	rate := t.rec.rate
	reach := reachSeconds * rate
	type found struct {
		h                []float64
		at, value, noise float64
	}
	var sides []found
	for _, y := range x {
		h := t.sweep.response(y)
		first := max(0, int(zero-reach))
		part := h[first:int(zero+reach)]
		at, value := align.Peak(part)
		sides = append(sides, found{h, at + float64(first) - zero, value, usual(part)})
	}
	for s, v := range sides {
		better := math.Abs(v.value) > math.Abs(sides[f.main].value)
		if expected == "right" && s == 1 { // where both are alike the expected side is the main one
			better = math.Abs(v.value) >= 0.97*math.Abs(sides[f.main].value)
		}
		if s > 0 && better {
			f.main = s
		}
	}
	m := sides[f.main]
	f.stands = math.Abs(m.value) / (m.noise + 1e-30)
	f.delay, f.invert = m.at, m.value < 0
	for s, v := range sides {
		X, n := spectrumAround(v.h, zero+f.delay, gateBefore*rate, gateAfter*rate)
		hz := t.clock.scale / float64(n)
		if s == f.main && f.stands > standing {
			turn, inverted, sigma := phaseDelay(X, hz, float64(n))
			f.delay, f.sigma, f.invert = f.delay+turn, sigma, inverted
		}
		var side sideFigures
		for _, at := range ResponseHz() {
			side.response = append(side.response, bandPower(X, hz, at, 1.0/12))
		}
		count := 0.0
		for i, at := range ResponseHz() {
			if at >= 200 && at <= 5000 {
				side.level += side.response[i]
				count++
			}
		}
		side.level /= count
		if s == f.main && f.stands > standing {
			side.harmonics = t.harmonics(v.h, zero+f.delay, side.response)
		}
		f.sides = append(f.sides, side)
	}
}

// usual is the spread of an impulse response's noise, which the response itself hardly moves.
func usual(h []float64) float64 {
	a := make([]float64, 0, len(h)/3+1)
	for i := 0; i < len(h); i += 3 {
		a = append(a, math.Abs(h[i]))
	}
	return 1.4826 * align.Median(a)
}

// phaseDelay finds what is left of the delay, and the polarity, from the phase between 300 Hz and 9 kHz, at points evenly
// spread over octaves.
func phaseDelay(X []complex128, hz, n float64) (delay float64, inverted bool, sigma float64) {
	var h []complex128
	var at, weight []float64
	strongest := 0.0
	for f := 300.0; f <= 9000 && f < 0.4*hz*n; f *= math.Exp2(1.0 / 24) {
		v := bandMean(X, hz, f*math.Exp2(-1.0/48), f*math.Exp2(1.0/48))
		h, at = append(h, v), append(at, f/(hz*n))
		weight = append(weight, square(v))
		strongest = max(strongest, square(v))
	}
	for i, w := range weight {
		weight[i] = min(w, strongest/10) // a resonance is not all there is
	}
	fit := align.Slope(h, at, weight, 0)
	return fit.Delay, fit.Inverted, fit.Sigma
}

// harmonics gives, for orders 2 to 5, the level against the fundamental in dB at HarmonicHz; NaN where a harmonic lies
// above the band.
func (t *tracer) harmonics(h []float64, place float64, response []float64) [][]float64 {
	var out [][]float64
	L := t.program.Sweep.L * t.clock.scale
	grid := ResponseHz()
	for order := firstHarmonic; order <= lastHarmonic; order++ {
		n := float64(order)
		before, after := 0.3*L*math.Log((n+1)/n), 0.6*L*math.Log(n/(n-1))
		X, size := spectrumAround(h, place-L*math.Log(n), before, min(after, 0.3*t.rec.rate))
		hz := t.clock.scale / float64(size)
		var row []float64
		for _, f := range HarmonicHz() {
			if n*f > min(20000, 0.97*t.program.Sweep.HighHz*0.93) {
				row = append(row, math.NaN())
				continue
			}
			base := response[nearest(grid, f)]
			row = append(row, decibels(bandPower(X, hz, n*f, 1.0/6)/max(base, 1e-20)))
		}
		out = append(out, row)
	}
	return out
}

func nearest(grid []float64, hz float64) int {
	best := 0
	for i, f := range grid {
		if math.Abs(math.Log(f/hz)) < math.Abs(math.Log(grid[best]/hz)) {
			best = i
		}
	}
	return best
}

const toneMargin = 0.05 // seconds at the ends of a steady sound that are not looked at

func inner(s tones.Span) tones.Span {
	return tones.Span{Start: s.Start + toneMargin, Seconds: s.Seconds - 2*toneMargin}
}

// steady reads tone, six tones and silence of a slot.
func (f *slotFigures) steady(t *tracer, slot tones.Slot, output int) error {
	delay := f.delay
	if f.stands <= standing {
		delay = 0
	}
	x, _, whole, err := t.read(inner(slot.Tone), 0, 0, delay)
	if err != nil || !whole {
		return err
	}
	for _, y := range x {
		f.tone = append(f.tone, toneOf(y, t.clock.scale))
	}
	x, _, whole, err = t.read(inner(slot.Multitone), 0, 0, delay)
	if err != nil || !whole {
		return err
	}
	f.tones = amplitudes(x[f.main], tones.MultitoneHz(output, len(t.plan.Sends)), t.clock.scale)
	x, _, whole, err = t.read(inner(slot.Silence), 0, 0, delay)
	if err != nil || !whole {
		return err
	}
	f.zeroRun = zeroRun(x)
	for _, y := range x {
		f.silence = append(f.silence, quietOf(y, t.rec.rate))
	}
	return nil
}

// amplitudes are those of the six tones of an output.
func amplitudes(x []float64, hz [tones.MultitoneCount]float64, scale float64) []float64 {
	w := blackmanHarris(len(x))
	total := 0.0
	for i, v := range w {
		total += v
		w[i] = v * x[i]
	}
	var out []float64
	for _, f := range hz {
		out = append(out, cmplx.Abs(phasor(w, total, 2*math.Pi*f/scale)))
	}
	return out
}
