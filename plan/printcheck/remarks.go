package printcheck

import (
	"fmt"
	"math"
)

// remarks are sentences about what is odd in the two files and what it means.
func (r *Result) remarks() (out []string) {
	say := func(format string, args ...any) { out = append(out, fmt.Sprintf(format, args...)) }
	switch {
	case r.Print.Channels == 1 && r.Mix.Channels == 2:
		say("the print is mono: both sides of the mix are compared with the one channel; record both sides of the return")
	case r.Mix.Channels == 1 && r.Print.Channels == 2:
		say("the mix is mono and stands on both sides here")
	}
	if !r.aligned.tie.certain {
		say("the mix has no side to speak of, so swapped sides cannot be told")
	}
	if r.Swapped {
		say("left and right are swapped in the print: check the two return cables and the inputs they go to")
	}
	switch r.Polarity {
	case "inverted":
		say("the print is inverted: harmless alone, but it cancels if it is ever heard together with the mix")
	case "left inverted", "right inverted":
		say("one side of the print is inverted (%s): a cable or plug of that side is wired the wrong way round", r.Polarity)
	}
	if d := r.Sides[0].GainDB - r.Sides[1].GainDB; math.Abs(d) >= 0.15 && r.Print.Channels == 2 {
		say("left comes back %+.2f dB against right: check the unit's balance, the trims and the cables", d)
	}
	if d := r.Sides[0].DelaySamples - r.Sides[1].DelaySamples; math.Abs(d) >= 0.05 && r.Print.Channels == 2 && r.aligned.tie.certain {
		say("left comes back %+.2f samples later than right", d)
	}
	if r.Mix.RateHz != r.Print.RateHz {
		say("the print is at %g kHz, the mix at %g kHz: the print was converted for this comparison; record at the rate of the session next time", float64(r.Print.RateHz)/1000, float64(r.Mix.RateHz)/1000)
	}
	if d := math.Abs(r.DriftPPM); d >= 0.5 {
		say("the print runs %.1f ppm %s: out and in do not share a clock; over the song that is %.1f ms", d, map[bool]string{true: "slow (it is too long)", false: "fast (it is too short)"}[r.DriftPPM > 0], d*1e-3*r.Mix.DurationS)
	}
	for _, s := range r.Segments[1:] {
		switch n := math.Abs(s.JumpSamples); {
		case s.JumpSamples < 0:
			say("at %s of the mix %.0f samples (%.1f ms) are missing from the print: a cut, or a buffer that was lost", clock(s.FromS), n, n/float64(r.Mix.RateHz)*1000)
		default:
			say("at %s of the mix the print pauses for %.0f samples (%.1f ms): something was put in, or the recording stopped", clock(s.FromS), n, n/float64(r.Mix.RateHz)*1000)
		}
	}
	share := r.Levels.DurationS / r.Mix.DurationS
	if len(r.Missing) > 0 && share < 0.995 {
		first, last := r.Segments[0].FromS, r.Segments[len(r.Segments)-1].ToS
		say("the print holds %.0f %% of the mix, %s to %s, and everything here is about that part; if it should hold all of it, record from before the first sound to after the last tail", 100*share, clock(first), clock(last))
	}
	for _, f := range []struct {
		name, cure string
		level      Level
	}{{"mix", "export the mix again with its level down", r.Levels.Mix}, {"print", "turn the return down and record again", r.Levels.Print}} {
		if f.level.ClippedSamples > 0 {
			say("the %s is clipped: %d samples stand at full scale; %s", f.name, f.level.ClippedSamples, f.cure)
		}
		if float64(f.level.SamplePeakDBFS) > 0.001 {
			say("the %s goes beyond full scale (%+.1f dBFS), which only a float file holds; %s", f.name, float64(f.level.SamplePeakDBFS), f.cure)
		}
	}
	if r.Lossy != nil {
		say("%s", r.Lossy.Text)
	}
	if r.Levels.DurationS < 20 {
		say("only %.1f s are compared: the intervals are wide, and verdicts speak of this passage alone", r.Levels.DurationS)
	}
	return out
}

// clock writes seconds as minutes and seconds.
func clock(s float64) string {
	m := math.Floor(s / 60)
	return fmt.Sprintf("%.0f:%05.2f", m, s-60*m)
}

// Signs of a lossy codec: what is in the print and not a copy of the mix keeps step with the mix above 4 kHz, and is not
// small. The limits lie between chains and codecs as the tests make them.
const (
	lossyRestDB    = -24.0
	lossySlopeLow  = 0.45
	lossySlopeHigh = 1.45
	lossyCurved    = 0.3 // share of the rest that squares and cubes explain: more, and it is a chain that saturates
	cutDepthDB     = 20.0
)

// lossy decides whether the print has been through a lossy codec; nil when there is no sign of it.
func lossy(g *gathered, w *watched, rate int) *Lossy {
	ratio, slope, ok := w.texture.follows()
	cut := cutoff(g, rate)
	var total moments
	for _, h := range w.stretches {
		total.add(&h.poly, 1)
	}
	if !ok || ratio < lossyRestDB || slope < lossySlopeLow || slope > lossySlopeHigh || total.explained() > lossyCurved {
		return nil
	}
	l := &Lossy{CutoffHz: cut, RestDB: ratio}
	top := ""
	if cut > 0 {
		top = fmt.Sprintf(", and the top is cut off at %.1f kHz", cut/1000)
	}
	l.Text = fmt.Sprintf("the print looks as if it had been through a lossy codec (what is not a copy of the mix follows it at %.0f dB above 4 kHz%s): judge the chain by an uncompressed print, and listen for clicks by ear, for what a codec leaves before a stroke looks like one", ratio, top)
	return l
}

// cutoff is the frequency above which the print has lost the top within a sixth of an octave; 0 when it has not.
func cutoff(g *gathered, rate int) float64 {
	lines := len(g.all.xlr)
	df := float64(rate) / float64(g.size)
	width := max(4, int(200/df))
	gain := func(k int) float64 {
		var x, y float64
		for i := k; i < min(k+width, lines); i++ {
			x += g.all.xx[0][i] + g.all.xx[1][i]
			y += g.all.yy[0][i] + g.all.yy[1][i]
		}
		if x <= 0 {
			return math.NaN()
		}
		return 10 * math.Log10(y/x+1e-12)
	}
	for hz := 9000.0; hz < math.Min(20500, 0.46*float64(rate)); hz += 100 {
		below, above, far := gain(int(hz/1.06/df)), gain(int(hz*1.03/df)), gain(int(math.Min(hz*1.08, 0.48*float64(rate))/df))
		if below-above > cutDepthDB && below-far > cutDepthDB {
			return hz
		}
	}
	return 0
}
