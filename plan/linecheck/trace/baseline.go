package trace

import (
	"fmt"
	"math"

	"foldout/features"
)

// What counts as moved since the baseline: more than the check itself varies from one run to the next (found by running
// simulated loops twice with other noise).
const (
	movedDB     = 0.05
	movedDelay  = 0.05
	movedNoise  = 2.0
	movedShape  = 0.3
	movedTimes  = 1.5
	movedThdPct = 0.02
)

// Compare writes into Moved what differs from an earlier result, output by output. Outputs that only one of them has are
// named.
func (r *Result) Compare(last *Result) {
	old := map[int]*Channel{}
	for i := range last.Channels {
		old[last.Channels[i].Output] = &last.Channels[i]
	}
	for i := range r.Channels {
		c := &r.Channels[i]
		o := old[c.Output]
		delete(old, c.Output)
		if o == nil {
			r.moved("%s was not part of the earlier check.", c.Label)
			continue
		}
		r.compareOutput(c, o)
	}
	for _, c := range last.Channels {
		if old[c.Output] != nil {
			r.moved("%s was checked earlier and is not part of this check.", c.Label)
		}
	}
	if beyond(float64(r.GainDB-last.GainDB), movedDB) {
		r.moved("The whole loop has %+.2f dB, it had %+.2f dB.", float64(r.GainDB), float64(last.GainDB))
	}
	if d := float64(r.NoiseDBFS - last.NoiseDBFS); beyond(d, movedNoise) {
		r.moved("Noise moved by %+.1f dB, to %.1f dBFS.", d, float64(r.NoiseDBFS))
	}
	if (r.Hum == nil) != (last.Hum == nil) {
		r.moved("Hum is %s now.", map[bool]string{true: "gone", false: "there"}[r.Hum == nil])
	}
	if beyond(r.DriftPPM-last.DriftPPM, 0.1) {
		r.moved("The clock drifts by %.2f ppm, it drifted by %.2f.", r.DriftPPM, last.DriftPPM)
	}
	if len(r.Moved) == 0 {
		r.moved("Nothing moved beyond what this check varies by itself.")
	}
}

func (r *Result) moved(format string, args ...any) {
	r.Moved = append(r.Moved, fmt.Sprintf(format, args...))
}

func (r *Result) compareOutput(c, o *Channel) {
	is, was := c.Alive != nil && *c.Alive, o.Alive != nil && *o.Alive
	if c.Alive == nil || o.Alive == nil {
		return
	}
	if is != was {
		r.moved("%s is %s now.", c.Label, map[bool]string{true: "alive", false: "dead"}[is])
		return
	}
	if !is {
		return
	}
	if c.Side != o.Side {
		r.moved("%s arrives %s now, it arrived %s.", c.Label, c.Side, o.Side)
	}
	if c.Polarity != o.Polarity {
		r.moved("%s is of %s polarity now.", c.Label, c.Polarity)
	}
	if d := float64(c.GainDB - o.GainDB); beyond(d, movedDB) {
		r.moved("%s moved by %+.2f dB, to %+.2f dB.", c.Label, d, float64(c.GainDB))
	}
	if d := float64(c.DelaySamples - o.DelaySamples); beyond(d, movedDelay) {
		r.moved("%s moved by %+.2f samples against the earliest output.", c.Label, d)
	}
	a, b := float64(c.THDPercent), float64(o.THDPercent)
	if beyond(a-b, movedThdPct) && (a > movedTimes*b || b > movedTimes*a) {
		r.moved("%s distorts differently: THD %.3f %%, it was %.3f %%.", c.Label, a, b)
	}
	worst, at := 0.0, 0.0
	for i := range c.Response {
		if i < len(o.Response) && c.Response[i].Hz == o.Response[i].Hz && c.Response[i].Hz >= 30 && c.Response[i].Hz <= 18000 {
			if d := float64(c.Response[i].DB - o.Response[i].DB); math.Abs(d) > math.Abs(worst) {
				worst, at = d, c.Response[i].Hz
			}
		}
	}
	if math.Abs(worst) > movedShape {
		r.moved("%s has another response: %+.1f dB at %.0f Hz.", c.Label, worst, at)
	}
}

// beyond says that a difference is more than a limit; a figure that one of the two lacks does not count.
func beyond(d, limit float64) bool { return math.Abs(d) > limit && !math.IsInf(d, 0) }

// none is a figure that does not exist.
var none = features.DB(math.NaN())
