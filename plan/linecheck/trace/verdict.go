package trace

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/features"
	"foldout/features/align"
)

// What counts as how bad. Gains and crosstalk as engineers have them (common practice, no source): 0.3 dB is what trims
// and pads keep, 1.5 dB is a bad contact, a switch or a wrong cable.
const (
	faultDB       = 1.5
	crosstalkDB   = -60.0
	driftPPM      = 1.0
	noiseUnderDB  = 52.0 // noise nearer than this to operating level, flat
	humUnderDB    = 60.0 // hum nearer than this to operating level
	distortedPct  = 1.0
	distortTimes  = 3.0 // or so many times what is usual among the outputs, from distortLeast up
	distortLeast  = 0.3
	dullDB        = 1.0     // loss at one end against the other outputs
	dullHz        = 12000.0 // or 3 dB down below it
	thinHz        = 60.0
	pairSamples   = 2.0 // left against right
	offsetSamples = 1.0 // pairs against one another
	clippedLeast  = 3
)

// judge turns figures into verdicts.
func (t *tracer) judge(path string, o Options) (*Result, error) {
	r := t.result(path, o)
	var err error
	if r.Together, err = t.together(); err != nil {
		return nil, err
	}
	t.gains(r)
	for i := range r.Channels {
		t.judgeOutput(r, i)
	}
	t.judgePairs(r)
	t.judgeLoop(r)
	r.CannotTell = t.cannotTell()
	return r, nil
}

// gains finds the gain most outputs have, against what the rig expects of each, and how far each is off.
func (t *tracer) gains(r *Result) {
	var list []float64
	for i, c := range r.Channels {
		if c.Alive != nil && *c.Alive {
			list = append(list, float64(c.GainDB)-t.plan.Sends[i].ExpectedDB)
		}
	}
	if len(list) == 0 {
		return
	}
	usual := mostHave(list, r.ToleranceDB)
	r.GainDB = features.DB(tidy(usual, 3))
	for i := range r.Channels {
		if c := &r.Channels[i]; c.Alive != nil && *c.Alive {
			c.OffDB = features.DB(tidy(float64(c.GainDB)-t.plan.Sends[i].ExpectedDB-usual, 3))
		}
	}
}

// mostHave is the middle of the largest group of values that lie within twice the tolerance. Of groups of one size that
// share values the narrower counts; of those apart the one nearest to 0: a loop is set up for unity.
func mostHave(values []float64, tolerance float64) float64 {
	s := slices.Clone(values)
	slices.Sort(s)
	from, to := 0, 0
	for i := range s {
		k := i
		for k < len(s) && s[k]-s[i] <= 2*tolerance {
			k++
		}
		better := k-i > to-from
		if k-i == to-from {
			better = math.Abs(align.Median(s[i:k])) < math.Abs(align.Median(s[from:to]))
			if i < to {
				better = s[k-1]-s[i] < s[to-1]-s[from]
			}
		}
		if better {
			from, to = i, k
		}
	}
	return align.Median(s[from:to])
}

func (r *Result) say(severity string, output *int, format string, args ...any) {
	r.Verdicts = append(r.Verdicts, Verdict{severity, output, fmt.Sprintf(format, args...)})
}

// judgeOutput says all there is to say of one output, or that all is well.
func (t *tracer) judgeOutput(r *Result, i int) {
	c, send := &r.Channels[i], t.plan.Sends[i]
	before := len(r.Verdicts)
	say := func(severity, format string, args ...any) {
		r.say(severity, &c.Output, "%s "+format, append([]any{send.Label()}, args...)...)
	}
	switch {
	case c.Alive == nil:
		say(Note, "was not heard: %s. Record again from before the start until after the end.", t.whyUnheard(i))
		return
	case !*c.Alive && t.soundedInSync(i):
		say(Fault, "is silent in its own turn, but was heard in the sync signal: a loose contact. Move plug and cable while a tone plays.")
		return
	case !*c.Alive:
		say(Fault, "is dead: nothing of it arrives. Check that its track plays and feeds this output, then its plug and cable at both ends, then the switch or fader of %s.", t.input(i))
		return
	}
	t.judgeSide(r, i, say)
	if c.Polarity == "inverted" {
		say(Fault, "arrives with inverted polarity. Look for a polarity switch on its channel, in the mixer of the interface or on the unit; else a cable has pins 2 and 3 (or tip and ring) crossed.")
	}
	off := float64(c.OffDB)
	word := "high"
	if off < 0 {
		word = "low"
	}
	switch {
	case math.Abs(off) > faultDB:
		say(Fault, "arrives %.1f dB %s: check its cable, plug or switch.%s%s", math.Abs(off), word, sixDB(off), r.oneOfTwo(i))
	case math.Abs(off) > r.ToleranceDB:
		say(Warning, "arrives %.2f dB %s, and %.2g dB is the tolerance: trim it at %s.%s", math.Abs(off), word, r.ToleranceDB, t.input(i), r.oneOfTwo(i))
	}
	if lost := t.lostByRecorder(i); len(lost) > 0 {
		r.say(Fault, nil, "The recording lost the sound %s while output %d played: both sides are digital zero there. Raise the buffer size, close other programs, and record again.", dropTimes(lost), c.Output)
	} else if c.Dropouts > 0 {
		say(Fault, "drops out: %s. Move plug and cable while a tone plays; a contact that crackles is the one. If several outputs do it, look at the buffer size of the interface instead.", dropTimes(t.slots[i].drops))
	}
	if should, did, _ := t.chirpsOf(i); did < should && c.Dropouts == 0 && t.after == nil && t.wholeSync() && float64(c.DelaySamples) < chirpNear*t.rec.rate {
		say(Fault, "comes and goes: it should sound %d times in the sync signals and does %d times. A loose contact: move plug and cable while a tone plays.", should, did)
	}
	t.judgeSound(r, i, say)
	if !slices.ContainsFunc(r.Verdicts[before:], func(v Verdict) bool { return v.Severity != OK }) {
		r.say(OK, &c.Output, "%s is fine: %s.", send.Label(), strings.Join(c.inShort(), ", "))
	}
}

// inShort are the figures of an output that is fine, as far as they were heard.
func (c *Channel) inShort() []string {
	var list []string
	if c.Side != "" {
		list = append(list, c.Side)
	}
	list = append(list, fmt.Sprintf("%+.2f dB", math.Round(100*float64(c.GainDB))/100+0))
	if v := float64(c.THDPercent); !math.IsNaN(v) {
		list = append(list, fmt.Sprintf("THD %.3g %%", v))
	}
	if v := float64(c.CrosstalkDB); !math.IsNaN(v) {
		list = append(list, fmt.Sprintf("crosstalk %.0f dB", v))
	}
	return list
}

func sixDB(off float64) string {
	if math.Abs(off+6.02) < 0.7 {
		return " Six decibels low is what one leg of a balanced line gives when the other is broken, or an unbalanced plug."
	}
	if math.Abs(off-6.02) < 0.7 {
		return " Six decibels high is what the same signal gives when it reaches the unit twice: see whether it also feeds another output."
	}
	return ""
}

// oneOfTwo says of an output that is held against a single other one that the other may be the one that is off.
func (r *Result) oneOfTwo(i int) string {
	var others []int
	for j, c := range r.Channels {
		if j != i && c.Alive != nil && *c.Alive {
			others = append(others, c.Output)
		}
	}
	if len(others) != 1 {
		return ""
	}
	return fmt.Sprintf(" It is held against output %d alone: of two, nothing tells which is off, and this one is farther from unity.", others[0])
}

// input is what the output feeds, as far as the rig says.
func (t *tracer) input(i int) string {
	s := t.plan.Sends[i]
	if s.SummingInput == 0 {
		return "its input on the unit"
	}
	return fmt.Sprintf("input %d of %s", s.SummingInput, t.plan.Unit)
}

func (t *tracer) whyUnheard(i int) string {
	if t.clock.place(t.program.Slots[i].Sweep.Start) < 0 {
		return "the recording begins too late"
	}
	if t.after != nil {
		return "the recording is broken in its turn"
	}
	return "the recording ends before its turn"
}

func (t *tracer) judgeSide(r *Result, i int, say func(severity, format string, args ...any)) {
	c, send := &r.Channels[i], t.plan.Sends[i]
	if c.Side == "" || c.Side == send.Side {
		if c.Side != "" && c.leaks && !t.clipped() {
			say(Warning, "leaks %.1f dB into the other side. Look for a pan or width control that is not quite at its end, or a shared ground in its loom.", float64(c.CrosstalkDB))
		}
		return
	}
	if c.Side == "both" {
		hint := "a pan in the middle, or a mono switch on its input"
		if send.MonoSwitch {
			hint = fmt.Sprintf("the mono switch of %s", t.input(i))
		}
		say(Fault, "arrives on both sides, and should come from the %s alone: look at %s.", send.Side, hint)
		return
	}
	say(Fault, "arrives on the %s and should come from the %s: it is plugged into the other input of its pair, or the pair is swapped on the way.", c.Side, send.Side)
}

func dropTimes(d []dip) string {
	if len(d) == 1 {
		return fmt.Sprintf("once, %.1f s after its turn began, for %.0f ms", d[0].at, d[0].seconds*1000)
	}
	return fmt.Sprintf("%d times, first %.1f s after its turn began, for %.0f ms", len(d), d[0].at, d[0].seconds*1000)
}

// lostByRecorder are the gaps of an output in which the recording is digital zero although the loop has noise; none where its
// silence was not recorded.
func (t *tracer) lostByRecorder(i int) []dip {
	f := t.slots[i]
	if len(f.silence) == 0 {
		return nil
	}
	var lost []dip
	for _, d := range f.drops {
		if d.zero {
			lost = append(lost, d)
		}
	}
	return lost
}

// judgeSound compares response, distortion and noise with the other outputs.
func (t *tracer) judgeSound(r *Result, i int, say func(severity, format string, args ...any)) {
	c := &r.Channels[i]
	high, low := t.against(r, i, 8000, 16000), t.against(r, i, 30, 80)
	switch {
	case high < -dullDB:
		say(Warning, "is dull: %.1f dB down between 8 and 16 kHz against the others. A long or unbalanced cable, a bad contact or a filter that is switched in.", -high)
	case float64(c.HighHz) < dullHz:
		say(Warning, "is dull: 3 dB down at %.0f Hz. See whether a filter is switched in.", float64(c.HighHz))
	case high > dullDB:
		say(Warning, "is bright: %.1f dB up between 8 and 16 kHz against the others. See whether an equaliser is switched in.", high)
	}
	switch {
	case low < -dullDB:
		say(Warning, "is thin: %.1f dB down between 30 and 80 Hz against the others. A filter that is switched in, or a broken leg of the cable.", -low)
	case float64(c.LowHz) > thinHz:
		say(Warning, "is thin: 3 dB down at %.0f Hz. See whether a low cut is switched in.", float64(c.LowHz))
	case low > dullDB:
		say(Warning, "is heavy: %.1f dB up between 30 and 80 Hz against the others. See whether an equaliser is switched in.", low)
	}
	if thd, others := c.surePercent, t.usualTHD(r, i); !t.clipped() && (thd > distortedPct || others > 0 && thd > distortLeast && thd > distortTimes*others) {
		usual := fmt.Sprintf(", and %.2g %% is usual here. Turn down what drives it, and check its input for a fault.", others)
		if others > thd/2 {
			usual = ", like the others: all of the unit is driven hard. If that is not meant, go down with the outputs and up behind the unit."
		}
		say(Warning, "distorts: THD %.2g %% at operating level%s", float64(c.THDPercent), usual)
	}
	if n := float64(c.NoiseDBFS); n > t.noiseLimit(r) && n > float64(t.usualNoise(r))+6 {
		say(Warning, "is noisy: %.1f dBFS in its own silence, and %.1f dBFS is usual here.", n, float64(t.usualNoise(r)))
	}
}

// clipped says that the return clips: then its distortion and crosstalk are no one's own.
func (t *tracer) clipped() bool {
	n, _ := t.rec.clips.samples()
	return n >= clippedLeast
}

// against is the mean response of an output in a band, less what is usual among the outputs. 0 where it stands alone.
func (t *tracer) against(r *Result, i int, lo, hi float64) float64 {
	mean := func(c Channel) float64 {
		sum, n := 0.0, 0.0
		for _, p := range c.Response {
			if p.Hz >= lo && p.Hz <= hi {
				sum, n = sum+float64(p.DB), n+1
			}
		}
		return sum / n
	}
	var all []float64
	for _, c := range r.Channels {
		if len(c.Response) > 0 {
			all = append(all, mean(c))
		}
	}
	if len(all) < 2 {
		return 0
	}
	return mean(r.Channels[i]) - mostHave(all, 0.25)
}

func (t *tracer) usualTHD(r *Result, not int) float64 {
	var all []float64
	for i, c := range r.Channels {
		if v := float64(c.THDPercent); i != not && !math.IsNaN(v) {
			all = append(all, v)
		}
	}
	return align.Median(all)
}

func (t *tracer) usualNoise(r *Result) float64 {
	var all []float64
	for _, c := range r.Channels {
		if v := float64(c.NoiseDBFS); !math.IsNaN(v) {
			all = append(all, v)
		}
	}
	return align.Median(all)
}

// noiseLimit is the flat noise that is too much: so far under operating level as it comes back.
func (t *tracer) noiseLimit(r *Result) float64 {
	return t.plan.OperatingDBFS + float64(r.GainDB) - noiseUnderDB
}

// judgePairs compares left and right of each pair, and the pairs in time.
func (t *tracer) judgePairs(r *Result) {
	for n, p := range r.Pairs {
		if d := float64(p.GainDB) - t.plan.Sends[2*n+1].ExpectedDB + t.plan.Sends[2*n].ExpectedDB; math.Abs(d) > r.ToleranceDB &&
			math.Abs(float64(r.Channels[2*n].OffDB)) <= r.ToleranceDB && math.Abs(float64(r.Channels[2*n+1].OffDB)) <= r.ToleranceDB {
			r.say(Note, nil, "Outputs %d and %d differ by %.2f dB: each is within tolerance, but the pair leans to the %s.", p.Outputs[0], p.Outputs[1], math.Abs(d), map[bool]string{true: "right", false: "left"}[d > 0])
		}
		if d := float64(p.DelaySamples); math.Abs(d) >= pairSamples {
			late := p.Outputs[1]
			if d < 0 {
				late = p.Outputs[0]
			}
			r.say(Warning, &late, "%s arrives %.2f samples (%.3f ms) after the other side of its pair: look for a plug-in or a latency setting on one side only.", label(r, late), math.Abs(d), math.Abs(d)/t.rec.rate*1000)
		}
	}
	var late []string
	for _, p := range r.Channels {
		if d := float64(p.DelaySamples); d >= offsetSamples {
			late = append(late, fmt.Sprintf("%d by %.2f", p.Output, d))
		}
	}
	if len(late) > 0 {
		r.say(Note, nil, "Later than the earliest output, in samples: %s. Where one sound leaves by two pairs this comb-filters; line them up with the delay compensation.", strings.Join(late, ", "))
	}
}

func label(r *Result, output int) string {
	for _, c := range r.Channels {
		if c.Output == output {
			return c.Label
		}
	}
	return fmt.Sprintf("Output %d", output)
}
