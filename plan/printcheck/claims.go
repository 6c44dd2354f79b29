package printcheck

import (
	"fmt"
	"math"
)

// Claim is something the trade says of an analogue trip, tested on this print.
type Claim struct {
	Claim   string   `json:"claim"`
	Verdict string   `json:"verdict"` // yes (true here), no (not here), unknown (cannot be told)
	Text    string   `json:"text"`
	Figures []Figure `json:"figures"`
}

// Figure is what a verdict rests on: the change from mix to print, positive in the direction of the claim or as Name says.
type Figure struct {
	Name   string  `json:"name"`
	Unit   string  `json:"unit"`
	Change float64 `json:"change"`
	CI     float64 `json:"ci"` // half of the 95 % interval; 0 where the figure is exact
}

// Verdicts.
const (
	Yes     = "yes"
	No      = "no"
	Unknown = "unknown"
)

// matters is the least change that counts: half a decibel. A step of 0.25 dB can be heard in the best case, one of 0.5 dB
// hardly (see the handbook figures in the tests); less than that decides nothing.
const matters = 0.5

// verdict judges a change that the claim says is positive.
func verdict(change, ci float64) string {
	switch {
	case math.IsNaN(change) || math.IsNaN(ci):
		return Unknown
	case change >= matters && change-ci > 0:
		return Yes
	case change+ci < matters:
		return No
	}
	return Unknown
}

func claimsOf(r *Result, g *gathered, w *watched, bands []band) []Claim {
	return []Claim{tighter(w), smoother(r, w), wider(g, bands), headroom(r), together(w), warmer(r)}
}

func claim(name, v string, text string, figures ...Figure) Claim {
	kept := []Figure{}
	for _, f := range figures {
		if !math.IsNaN(f.Change) {
			if math.IsNaN(f.CI) {
				f.CI = 0
			}
			kept = append(kept, f)
		}
	}
	return Claim{Claim: name, Verdict: v, Text: text, Figures: kept}
}

// mean returns the mean of values and half its 95 % interval; NaN for fewer than n values.
func mean(values []float64, n int) (m, ci float64) {
	if len(values) < n {
		return math.NaN(), math.NaN()
	}
	for _, v := range values {
		m += v / float64(len(values))
	}
	leave := make([]float64, len(values))
	for i, v := range values {
		leave[i] = (m*float64(len(values)) - v) / float64(len(values)-1)
	}
	return m, jackknifeCI(leave)
}

// tighter: after each stroke between 40 and 160 Hz the print falls further than the mix.
func tighter(w *watched) Claim {
	var all []float64
	for _, s := range w.stretches {
		for _, h := range s.lows {
			all = append(all, h.mix-h.print)
		}
	}
	const least = 8
	change, ci := mean(all, least)
	v := verdict(change, ci)
	text := fmt.Sprintf("too few strokes between 40 and 160 Hz to tell (%d)", len(all))
	if v != Unknown || len(all) >= least {
		text = fmt.Sprintf("over %d low strokes, 80 to 200 ms after the peak the print has fallen %s the mix", len(all), more(change, "further than", "less than", "as far as"))
	}
	return claim("lower end tighter", v, text, Figure{"further fall after low strokes", "dB", change, ci})
}

// tenth rounds to a tenth, without a minus before nought.
func tenth(v float64) float64 { return math.Round(10*v)/10 + 0 }

func more(v float64, above, below, same string) string {
	if math.Abs(v) < 0.05 {
		return same
	}
	if v > 0 {
		return fmt.Sprintf("%.1f dB %s", v, above)
	}
	return fmt.Sprintf("%.1f dB %s", -v, below)
}

// smoother: between 2 and 5 kHz the peaks stand out less, or there is less of it, and neither got worse.
func smoother(r *Result, w *watched) Claim {
	var all []float64
	for _, s := range w.stretches {
		if s.spiky {
			all = append(all, s.spikes[0]-s.spikes[1])
		}
	}
	peaks, peaksCI := mean(all, 3)
	level, levelCI := register(r.Bands, 2000, 5000)
	a, b := verdict(peaks, peaksCI), verdict(-level, levelCI)
	v := No
	switch {
	case (a == Yes || b == Yes) && peaks > -matters && -level > -matters:
		v = Yes
	case a == Unknown && b == Unknown, (a == Unknown || b == Unknown) && v != Yes && math.IsNaN(peaks):
		v = Unknown
	}
	text := "2 to 5 kHz cannot be read in this song"
	if !math.IsNaN(peaks) && !math.IsNaN(level) {
		text = fmt.Sprintf("2 to 5 kHz: level %+.1f dB, peaks stand out %s before", tenth(level), more(-peaks, "more than", "less than", "as much as"))
	}
	return claim("upper mids smoother", v, text, Figure{"peaks stand out less, 2 to 5 kHz", "dB", peaks, peaksCI}, Figure{"level, 2 to 5 kHz", "dB", level, levelCI})
}

// wider: more side against mid from 200 Hz to 12.5 kHz.
func wider(g *gathered, bands []band) Claim {
	n := len(g.briefs)
	// One ratio per stretch, as quotients of sums over bands that each count alike: the mean of the bands' changes.
	change := func(skip int) float64 {
		var sum, count float64
		for i, b := range bands {
			if b.hz < 200 || b.hz > 12500 {
				continue
			}
			var t widths
			for j, s := range g.briefs {
				if j != skip {
					w := s.width[i]
					t.xm, t.xs, t.ym, t.ys = t.xm+w.xm, t.xs+w.xs, t.ym+w.ym, t.ys+w.ys
				}
			}
			if t.xs > 1e-6*t.xm && t.ys > 1e-6*t.ym && t.xm > 0 && t.ym > 0 {
				sum += 10 * math.Log10(t.ys/t.ym*t.xm/t.xs)
				count++
			}
		}
		return sum / count // NaN for a mono song
	}
	whole := change(-1)
	var parts []float64
	for j := range n {
		parts = append(parts, change(j))
	}
	ci := jackknifeCI(parts)
	text := "the mix is mono, or nearly so: there is no width to change"
	if !math.IsNaN(whole) {
		text = fmt.Sprintf("side against mid, 200 Hz to 12.5 kHz: %+.1f dB", tenth(whole))
	}
	return claim("wider", verdict(whole, ci), text, Figure{"side against mid, 200 Hz to 12.5 kHz", "dB", whole, ci})
}

// headroom: at equal loudness the peaks are lower.
func headroom(r *Result) Claim {
	change := float64(r.Levels.Mix.PeakToLoudnessLU - r.Levels.Print.PeakToLoudnessLU)
	if math.IsInf(change, 0) {
		change = math.NaN()
	}
	text := "the loudness cannot be read: too short or too soft"
	if !math.IsNaN(change) {
		text = fmt.Sprintf("at equal loudness the highest true peak is %s in the mix", more(-change, "higher than", "lower than", "as high as"))
		text += fmt.Sprintf(" (peak to loudness %.1f to %.1f LU)", float64(r.Levels.Mix.PeakToLoudnessLU), float64(r.Levels.Print.PeakToLoudnessLU))
	}
	return claim("more headroom", verdict(change, 0), text, Figure{"lower true peak at equal loudness", "dB", change, 0})
}

// together: soft passages are lifted against loud ones.
func together(w *watched) Claim {
	var total curve
	for _, s := range w.stretches {
		total.add(&s.curve)
	}
	whole, below := total.lift()
	var parts []float64
	for i := range w.stretches {
		var c curve
		for j, s := range w.stretches {
			if i != j {
				c.add(&s.curve)
			}
		}
		if v, _ := c.lift(); !math.IsNaN(v) {
			parts = append(parts, v)
		}
	}
	ci := jackknifeCI(parts)
	text := "too little between loud and soft in this song to tell"
	if !math.IsNaN(whole) {
		text = fmt.Sprintf("passages %.0f dB below the loudest come back %s the loudest", below, more(whole, "louder against", "softer against", "as loud against"))
	}
	return claim("glued together", verdict(whole, ci), text, Figure{"soft lifted against loud", "dB", whole, ci})
}

// warmer: 60 to 500 Hz rises against 2 to 8 kHz.
func warmer(r *Result) Claim {
	low, lowCI := register(r.Bands, 60, 500)
	high, highCI := register(r.Bands, 2000, 8000)
	change, ci := low-high, math.Hypot(lowCI, highCI)
	text := "lows or highs are missing in this song"
	if !math.IsNaN(change) {
		text = fmt.Sprintf("60 to 500 Hz against 2 to 8 kHz: %+.1f dB", tenth(change))
	}
	return claim("warmer", verdict(change, ci), text, Figure{"60 to 500 Hz against 2 to 8 kHz", "dB", change, ci})
}
