package trace

import (
	"math"
	"math/cmplx"

	"foldout/features"
	"foldout/features/align"
	"foldout/plan/linecheck/tones"
)

// together compares the tones of every output within the sum with the same tones alone, and measures what the sum holds
// besides. Nil where it was not recorded or no output was heard alone.
func (t *tracer) together() (*Together, error) {
	if t.after != nil {
		u := *t
		u.clock, u.after = *t.after, nil
		return u.together()
	}
	x, _, whole, err := t.read(inner(t.program.Together), 0, 0, t.usualDelay())
	if err != nil || !whole {
		return nil, err
	}
	shared := math.Pow(10, -10*math.Log10(max(1, float64(len(t.slots))/2))/20)
	var sums []float64
	for i, f := range t.slots {
		if !t.alive(i) || f.tones == nil || len(f.drops) > 0 {
			continue
		}
		var steps []float64
		for k, a := range amplitudes(x[f.main], tones.MultitoneHz(i, len(t.slots)), t.clock.scale) {
			steps = append(steps, 20*math.Log10(max(a, 1e-12)/(shared*f.tones[k])))
		}
		sums = append(sums, align.Median(steps))
	}
	if len(sums) == 0 {
		return nil, nil
	}
	worst := math.Inf(-1)
	for side, y := range x {
		worst = max(worst, t.residual(y, side))
	}
	return &Together{SummingDB: features.DB(tidy(align.Median(sums), 3)), ResidualDB: features.DB(tidy(worst, 2))}, nil
}

func (t *tracer) usualDelay() float64 {
	var d []float64
	for i, f := range t.slots {
		if t.alive(i) {
			d = append(d, f.delay)
		}
	}
	return align.Median(d)
}

// residual takes all tones out of the sum of one side and compares what is left, less the noise of the silences, with
// them, in dB. -Inf where nothing is left.
func (t *tracer) residual(y []float64, side int) float64 {
	rest := append([]float64(nil), y...)
	w := blackmanHarris(len(y))
	total, power := 0.0, 0.0
	for i, v := range w {
		total += v
		w[i] = v * y[i]
	}
	for i := range t.slots {
		for _, hz := range tones.MultitoneHz(i, len(t.slots)) {
			omega := 2 * math.Pi * hz / t.clock.scale
			a := phasor(w, total, omega)
			power += square(a) / 2
			turn, step := a, cmplx.Rect(1, omega)
			for k := range rest {
				rest[k] -= real(turn)
				turn *= step
			}
		}
	}
	if power == 0 || side >= len(t.quiet) {
		return math.Inf(-1)
	}
	left := 0.0
	for _, p := range quietOf(rest, t.rec.rate).power[1:] {
		left += p
	}
	for _, p := range t.quiet[side].power {
		left -= p
	}
	return decibels(max(left, 0) / power)
}
