package stems

import (
	"context"
	"fmt"
	"math"

	"foldout/features"
)

const (
	explainedDB = 40.0 // a cause that takes this much of the residual away is the cause
	partlyDB    = 10.0 // one that takes this much is worth naming
	sameDB      = 0.05 // gains closer than this are the same
)

// why looks for the most likely cause, from the plain to the involved: length, clipping, gain and polarity, a shift,
// tracks, processing.
func (c *comparison) why(ctx context.Context) (*Reason, error) {
	for _, simple := range []func() *Reason{c.silent, c.length, c.clipping, c.gains} {
		if r := simple(); r != nil {
			return r, nil
		}
	}
	e, err := c.gather(ctx, 0)
	if err != nil {
		return nil, err
	}
	lag, r, moved, err := c.delayed(ctx, e)
	if err != nil || r != nil {
		return r, err
	}
	e = moved
	if err := e.loadTracks(ctx); err != nil {
		return nil, err
	}
	if r = e.tracks(); r == nil {
		r = e.processing()
	}
	if lag != 0 {
		r.Samples = float64(lag)
		r.Text = fmt.Sprintf("the mix is %s; besides, %s", delayWords(float64(lag), c.session.RateHz), r.Text)
	}
	return r, nil
}

// delayed looks for a delay of the mix. It is the reason where, with a gain, it is all there is; otherwise the evidence
// comes back lined up, if that makes the two much more alike.
func (c *comparison) delayed(ctx context.Context, e *evidence) (lag int, r *Reason, moved *evidence, err error) {
	lag = c.coarseLag()
	at := e
	if lag != 0 {
		if at, err = c.gather(ctx, lag); err != nil {
			return 0, nil, nil, err
		}
	}
	if d, strong := at.delay(); strong && d != 0 {
		lag += d
		if at, err = c.gather(ctx, lag); err != nil {
			return 0, nil, nil, err
		}
	}
	if lag != 0 {
		r = at.shift(lag)
	} else if f := e.fraction(); math.Abs(f) >= leastFraction {
		r = e.shift(0)
	}
	if r != nil || at.match() > 1.5*e.match() {
		return lag, r, at, nil
	}
	return 0, nil, e, nil
}

func (c *comparison) silent() *Reason {
	mix, sum := c.mm[0]+c.mm[1], c.ss[0]+c.ss[1]
	switch {
	case mix == 0:
		return &Reason{Kind: KindOther, Text: "the mix is silent", Remains: features.DB(rms(c.rr, c.frames))}
	case sum == 0:
		return &Reason{Kind: KindOther, Text: "the stems are silent", Remains: features.DB(rms(c.rr, c.frames))}
	}
	return nil
}

// length is the cause where the two cancel while both play.
func (c *comparison) length() *Reason {
	both := c.overlap[1] - c.overlap[0]
	if both <= 0 || rms(c.rrBoth, both) >= c.limit {
		return nil
	}
	rate := c.session.RateHz
	m := c.mix.Tracks[0]
	text := "they are the same while both play, but the mix "
	switch end, last := m.Offset+m.Info.Frames, c.origin+c.session.Frames; {
	case end < last:
		text += fmt.Sprintf("ends %s before the stems", clock(last-end, rate))
	case end > last:
		text += fmt.Sprintf("goes on for %s after the stems", clock(end-last, rate))
	case m.Offset > c.origin:
		text += fmt.Sprintf("begins %s after the stems", clock(m.Offset-c.origin, rate))
	default:
		text += fmt.Sprintf("begins %s before the stems", clock(c.origin-m.Offset, rate))
	}
	return &Reason{Kind: KindLength, Text: text, Remains: features.DB(rms(c.rrBoth, both))}
}

// clipping is the cause where the residual stands only where the sum is beyond full scale.
func (c *comparison) clipping() *Reason {
	rest := rms(max(c.rr-c.rrClip, 0), c.frames)
	if c.clippedInMix == 0 || rest > max(c.limit, rms(c.rr, c.frames)-explainedDB) {
		return nil
	}
	return &Reason{Kind: KindClip, Remains: features.DB(rest),
		Text: fmt.Sprintf("the mix is clipped at full scale where the sum of the tracks goes beyond it (%d samples); everywhere else they are the same", c.clippedInMix)}
}

// gains tries a gain for each side, and the sides exchanged.
func (c *comparison) gains() *Reason {
	if r := c.fit(c.sm, c.mm); r != nil {
		return r
	}
	if r := c.fit(c.cross, [2]float64{c.mm[1], c.mm[0]}); r != nil {
		r.Kind = KindSides
		r.Text = "left and right are exchanged in the mix; " + r.Text
		if r.GainDB == [2]float64{} {
			r.Text = "left and right are exchanged in the mix"
		}
		return r
	}
	return nil
}

// fit takes from the mix the sum times the best gain for each side. product is sum with mix, target the mix's energy.
func (c *comparison) fit(product, target [2]float64) *Reason {
	var a [2]float64
	left := 0.0
	for side := range a {
		if c.ss[side] > 0 {
			a[side] = product[side] / c.ss[side]
		}
		left += max(target[side]-a[side]*product[side], 0)
	}
	rest := rms(left, c.frames)
	if rest > max(c.limit, rms(c.rr, c.frames)-explainedDB) {
		return nil
	}
	return gainReason(a, rest)
}

// gainReason puts gains of the mix against the sum into words.
func gainReason(a [2]float64, rest float64) *Reason {
	r := &Reason{Kind: KindGain, Remains: features.DB(rest), GainDB: [2]float64{decibels(a[0]), decibels(a[1])}}
	flipped := [2]bool{a[0] < 0, a[1] < 0}
	switch {
	case flipped[0] && flipped[1]:
		r.Kind, r.Text = KindPolarity, "the mix has inverted polarity"
	case flipped[0]:
		r.Kind, r.Text = KindPolarity, "the left side of the mix has inverted polarity"
	case flipped[1]:
		r.Kind, r.Text = KindPolarity, "the right side of the mix has inverted polarity"
	}
	level := ""
	switch l, rr := r.GainDB[0], r.GainDB[1]; {
	case math.Abs(l-rr) > sameDB:
		level = fmt.Sprintf("the mix is at %s on the left and at %s on the right against the sum of the stems: a balance or a gain on one side", signedDB(l), signedDB(rr))
	case math.Abs(l) > sameDB/10:
		level = fmt.Sprintf("the mix is at %s against the sum of the stems: a gain on the mix, nothing else", signedDB((l+rr)/2))
	}
	switch {
	case r.Text != "" && level != "":
		r.Text += ", and " + level
	case r.Text == "" && level != "":
		r.Text = level
	case r.Text == "":
		r.Text = "the same but for a difference in gain of less than 0.01 dB"
	}
	if math.Abs(r.GainDB[0]) < sameDB/10 && math.Abs(r.GainDB[1]) < sameDB/10 {
		r.GainDB = [2]float64{}
	}
	return r
}

func decibels(gain float64) float64 { return 20 * math.Log10(math.Abs(gain)) }

func signedDB(v float64) string {
	if v < -100 {
		return "silence"
	}
	return fmt.Sprintf("%+.2f dB", math.Round(v*100)/100+0) // + 0: not -0
}
