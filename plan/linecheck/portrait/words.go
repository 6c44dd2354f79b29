package portrait

import (
	"fmt"
	"math"

	"foldout/features"
	"foldout/features/align"
	"foldout/plan/linecheck/trace"
)

func point(hz, db float64) trace.Point { return trace.Point{Hz: hz, DB: features.DB(db)} }

// strayDB is how far an output may be off to count for the portrait: beyond, it has a fault.
const strayDB = 1.5

// Words sum up the unit's own colour: response, harmonics, noise, crosstalk, match. They speak of the middle of all outputs
// that are alive; none where there are none.
func Words(r *trace.Result) []string {
	var thd, cross, off, low, high []float64
	alive := 0
	for _, c := range r.Channels {
		if c.Alive == nil || !*c.Alive || math.Abs(float64(c.OffDB)) > strayDB {
			continue
		}
		alive++
		thd = keep(thd, c.THDPercent)
		cross = keep(cross, c.CrosstalkDB)
		off = keep(off, c.OffDB)
		low, high = keep(low, at(c, 30)), keep(high, at(c, 16000))
	}
	if alive == 0 {
		return nil
	}
	out := []string{fmt.Sprintf("Response: %s dB at 30 Hz and %s dB at 16 kHz against 1 kHz.", figure("%+.1f", features.DB(align.Median(low))), figure("%+.1f", features.DB(align.Median(high))))}
	if len(thd) > 0 {
		out = append(out, colour(r, align.Median(thd)))
	}
	if n := float64(r.NoiseDBFS); !math.IsNaN(n) && !math.IsInf(n, 0) {
		line := fmt.Sprintf("Noise: %.1f dBFS flat, %.1f dBFS A-weighted: %.0f dB under the tone at %.0f dBFS.", n, float64(r.NoiseADBFS), r.ToneDBFS+float64(r.GainDB)-n, r.ToneDBFS)
		if r.Hum != nil {
			line += fmt.Sprintf(" Hum at %.0f Hz: %.1f dBFS.", r.Hum.Hz, float64(r.Hum.DBFS))
		}
		out = append(out, line)
	}
	if len(cross) > 0 {
		out = append(out, fmt.Sprintf("Crosstalk at 1 kHz: %.0f dB.", align.Median(cross)))
	}
	spread := 0.0
	for _, v := range off {
		spread = max(spread, math.Abs(v))
	}
	out = append(out, fmt.Sprintf("Match: the outputs without a fault lie within ±%.2f dB of %s dB, return over file.", spread, figure("%+.2f", r.GainDB)))
	if r.Together != nil {
		out = append(out, fmt.Sprintf("All together: every output comes back %s dB against alone.", figure("%+.2f", r.Together.SummingDB)))
	}
	return out
}

func keep(list []float64, v features.DB) []float64 {
	if f := float64(v); !math.IsNaN(f) && !math.IsInf(f, 0) {
		return append(list, f)
	}
	return list
}

// at is the response of an output near a frequency.
func at(c trace.Channel, hz float64) features.DB {
	best := features.DB(math.NaN())
	near := math.Inf(1)
	for _, p := range c.Response {
		if d := math.Abs(math.Log(p.Hz / hz)); d < near {
			near, best = d, p.DB
		}
	}
	return best
}

// colour says which harmonics lead and whether the bass has more of them.
func colour(r *trace.Result, thd float64) string {
	level := func(order int, hz float64) float64 {
		near, best := math.Inf(1), math.Inf(-1)
		for _, p := range middleHarmonic(r, order) {
			if d := math.Abs(math.Log(p.Hz / hz)); d < near {
				near, best = d, float64(p.DB)
			}
		}
		return best
	}
	const clear, audible = 6.0, -100.0
	second, third := level(2, 1000), level(3, 1000)
	lead := "second and third harmonic alike"
	switch {
	case max(second, third) < audible:
		return fmt.Sprintf("Distortion: THD %.4f %% at 1 kHz and operating level; no harmonic stands out.", thd)
	case second > third+clear:
		lead = fmt.Sprintf("mostly the second harmonic (%.0f dB), which is even: the octave", second)
	case third > second+clear:
		lead = fmt.Sprintf("mostly the third harmonic (%.0f dB), which is odd: the twelfth", third)
	}
	text := fmt.Sprintf("Distortion: THD %.3f %% at 1 kHz and operating level, %s.", thd, lead)
	if bass := max(level(2, 50), level(3, 50)); bass > max(second, third)+clear {
		text += fmt.Sprintf(" At 50 Hz it rises to %.0f dB, as transformers do.", bass)
	}
	return text
}
