package trace

import (
	"fmt"
	"math"
)

// judgeLoop says what concerns the whole loop.
func (t *tracer) judgeLoop(r *Result) {
	r.Verdicts = append(r.Verdicts, t.notes...)
	if t.rec.info.Channels == 1 {
		r.say(Fault, nil, "The return has one channel, so that sides, crosstalk and the right half of every pair cannot be told. Record the return to a stereo track.")
	}
	t.judgeWhole(r)
	if n, at := t.rec.clips.samples(); n >= clippedLeast {
		r.say(Fault, nil, "The return clips: %d samples stand at the ceiling%s. Turn the return's input down, or the unit's output, and record again; the figures of what clipped are wrong.", n, t.whenClipped(at))
	}
	if t.rec.info.Float && t.rec.clips.over > 0 {
		r.say(Warning, nil, "The return goes beyond full scale (peak %+.1f dBFS). This float file holds it, a converter or a fixed-point file will not: turn the return down.", float64(r.PeakDBFS))
	}
	if t.after != nil {
		r.say(Fault, nil, "%s", t.breakWords())
	} else if !r.Complete {
		r.say(Warning, nil, "%s", t.lost())
	}
	if math.Abs(r.DriftPPM) > driftPPM && r.DriftFrom != "nothing" {
		word := "longer"
		if r.DriftPPM < 0 {
			word = "shorter"
		}
		r.say(Warning, nil, "The clock drifts: the return is %.2f ppm %s than the tones (%.1f ms in five minutes). Playing and recording run on two clocks, or something converts the rate: set one clock as master.", math.Abs(r.DriftPPM), word, math.Abs(r.DriftPPM)*300e-3)
	}
	if r.Hum != nil && float64(r.Hum.DBFS) > t.plan.OperatingDBFS+float64(r.GainDB)-humUnderDB {
		r.say(Warning, nil, "It hums at %.0f Hz, %.1f dBFS: look for a ground loop, an unbalanced cable or a transformer nearby. Never lift a protective earth; use balanced lines, one supply point or isolation transformers in the signal.", r.Hum.Hz, float64(r.Hum.DBFS))
	}
	if n := float64(r.NoiseDBFS); n > t.noiseLimit(r) {
		r.say(Warning, nil, "The loop is noisy: %.1f dBFS (%.1f dBFS A-weighted), %.0f dB under operating level. Check the gain structure: hot outputs, a low return; and inputs that are open.", n, float64(r.NoiseADBFS), t.plan.OperatingDBFS+float64(r.GainDB)-n)
	}
	if r.Together != nil && math.Abs(float64(r.Together.SummingDB)) > 0.2 {
		r.say(Note, nil, "With all outputs playing each comes back %+.2f dB against alone: the unit compresses, or loads its inputs.", float64(r.Together.SummingDB))
	}
	if g := float64(r.GainDB); math.Abs(g) > faultDB {
		r.say(Note, nil, "The whole loop has %+.1f dB: the return is that much off the files. If that is not meant, set the unit's output or the return's input.", g)
	}
}

// judgeWhole sums up what all outputs share, so that one cause is looked for once.
func (t *tracer) judgeWhole(r *Result) {
	alive, inverted, swapped, dead := 0, 0, 0, 0
	for i, c := range r.Channels {
		if c.Alive != nil && !*c.Alive {
			dead++
		}
		if c.Alive == nil || !*c.Alive {
			continue
		}
		alive++
		if c.Polarity == "inverted" {
			inverted++
		}
		if c.Side != "" && c.Side != "both" && c.Side != t.plan.Sends[i].Side {
			swapped++
		}
	}
	if alive > 2 && inverted == alive {
		r.say(Fault, nil, "Every output is inverted, so the cause is one: the return's cable, the unit's output, or a polarity switch on the print track.")
	}
	if alive > 2 && swapped == alive {
		r.say(Fault, nil, "Every output arrives on the other side, so the cause is one: the two cables of the return, or the inputs of the print track, are swapped.")
	}
	if t.rec.info.Channels == 2 && dead > 0 && alive > 0 && dead == len(r.Channels)-alive && dead >= len(r.Channels)/2 {
		side := map[string]int{}
		for i, c := range r.Channels {
			if c.Alive != nil && !*c.Alive {
				side[t.plan.Sends[i].Side]++
			}
		}
		if half := len(r.Channels) / 2; half > 1 && len(side) == 1 && dead == half {
			for s := range side {
				r.say(Fault, nil, "The whole %s side is dead: look at the return's %s cable and input first.", s, s)
			}
		}
	}
}

// breakWords says where the recording is broken.
func (t *tracer) breakWords() string {
	step := t.after.origin - t.clock.origin
	what := fmt.Sprintf("%.0f samples (%.1f ms) are missing", -step, -step/t.rec.rate*1000)
	if step > 0 {
		what = fmt.Sprintf("%.0f samples (%.1f ms) are too many", step, step/t.rec.rate*1000)
	}
	from, to := t.clock.place(t.program.First.Span.End()), t.after.place(t.program.Last.Span.Start)
	for i, f := range t.slots {
		if f.heard && f.stands > standing {
			if slot := t.program.Slots[i]; f.late {
				to = min(to, t.after.place(slot.Sweep.Start))
			} else {
				from = max(from, t.clock.place(slot.Sweep.End()))
			}
		}
	}
	return fmt.Sprintf("The recording is broken: %s between second %.1f and second %.1f. A lost buffer, a cut or a jump of the clock: raise the buffer size, close other programs, and record again in one go.", what, from/t.rec.rate, to/t.rec.rate)
}

func (t *tracer) lost() string {
	start, end := t.clock.seconds(0), t.clock.seconds(float64(t.rec.info.Frames))
	switch {
	case start > t.program.First.Span.Start && end < t.program.Last.Span.End():
		return fmt.Sprintf("The recording holds only second %.1f to %.1f of the tones: start it before the tones and stop it after them.", start, end)
	case start > t.program.First.Span.Start:
		return fmt.Sprintf("The recording begins %.1f s too late: what came before is missing. Start it before the tones.", start-t.program.First.Span.Start)
	}
	return fmt.Sprintf("The recording stops %.1f s before the tones end: what came after is missing. Let it run until after the last chirp.", t.program.Last.Span.End()-end)
}

// whenClipped names the outputs in whose turn it clipped.
func (t *tracer) whenClipped(at []int64) string {
	names := ""
	for i, slot := range t.program.Slots {
		for _, frame := range at {
			if s := t.clock.seconds(float64(frame)); s >= slot.Start() && s <= slot.End() {
				if names != "" {
					names += ", "
				}
				names += fmt.Sprint(t.plan.Sends[i].Output)
				break
			}
		}
	}
	if names == "" {
		return ""
	}
	return ", among others while output " + names + " played"
}

// cannotTell is what this method does not see, said plainly.
func (t *tracer) cannotTell() []string {
	list := []string{
		"Two whole pairs swapped into inputs that are alike sound the same: the return cannot tell which plug is in which input. Follow one cable of each pair by hand, or mute one input of the unit at a time while its tone plays.",
		"A fault that shows only with music at full level, or only now and then, may not show in these seconds.",
		"Noise and hum are those of the whole loop: the unit adds up all inputs, so that a noisy one is found by unplugging one at a time.",
	}
	if !t.rec.info.Float {
		list = append(list, "Whether noise below the last bit of the file is there.")
	}
	return list
}
