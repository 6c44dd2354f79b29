package steps

import (
	"fmt"
	"math"
	"slices"

	"foldout/plan/linecheck/tones"
	"foldout/plan/linecheck/trace"
	"foldout/plan/sheet"
)

func (m *maker) lineCheck() Step {
	t := *m.tones
	t.RateHz = 48000
	if m.Levels != nil && slices.Contains(tones.Rates, m.Levels.RateHz) {
		t.RateHz = m.Levels.RateHz
	}
	full, quick := tones.NewProgram(t.RateHz, len(t.Sends), false), tones.NewProgram(t.RateHz, len(t.Sends), true)
	var files []string
	for n := 0; n < len(t.Sends); n += 2 {
		l, r := t.Sends[n], t.Sends[n+1]
		line := fmt.Sprintf("%s to outputs %d/%d", l.File, l.InterfaceOutput, r.InterfaceOutput)
		if m.several() {
			line += " of " + l.Interface
		}
		files = append(files, line+", "+l.Name)
	}
	s := Step{
		Name: "line check", Title: "Line check: is it plugged as it says?",
		Why: "Ears find a dead channel, hardly a swapped side in a dense song, and never 1 dB or an inverted pair of many. Test tones find them in minutes, and what they measure is what you come back to next year.",
		Do: []Item{
			{Text: "Write the tones, the first time 20 dB down: " + m.command(fmt.Sprintf("tones --sheet SHEET --rig RIG --out linecheck --rate %d --level -20", t.RateHz))},
			{Text: "Import them, one stereo track each, all from the same start, faders at 0 dB, no inserts:", More: files},
			{Text: fmt.Sprintf("Speakers muted. Record the return in real time, %s (with --quick %s), and export it as it is.", clock(full.Seconds(), false), clock(quick.Seconds(), false))},
			{Text: "Read it: foldout trace RETURN.wav --tones linecheck --html unit.html. Mend what it names, and run it again until it names nothing."},
			{Text: "Then at operating level: " + m.command(fmt.Sprintf("tones --sheet SHEET --rig RIG --out linecheck-full --rate %d", t.RateHz)) + ". Record again, and keep the result: foldout trace RETURN.wav --tones linecheck-full --format json --out unit.json. It is the baseline of the next session: --baseline unit.json."},
			{Text: "Take the tones out of the session again."},
		},
		Cautions: tones.Cautions[:3],
		Asked:    []Question{m.ask("What is a line check?", "line check")},
	}
	if b := m.Baseline; b != nil {
		s.Do = append(s.Do, Item{Text: "The last line check (" + b.Return + ") found " + found(b) + "."})
	}
	return s
}

// found counts what a line check complained of.
func found(r *trace.Result) string {
	n := map[string]int{}
	for _, v := range r.Verdicts {
		n[v.Severity]++
	}
	if n[trace.Fault]+n[trace.Warning] == 0 {
		return "nothing to complain of"
	}
	return sheet.Plural(n[trace.Fault], "fault", "faults") + " and " + sheet.Plural(n[trace.Warning], "warning", "warnings") + ": mend the faults first"
}

func (m *maker) trims() Step {
	a := m.rig.Alignment
	s := Step{
		Name: "trims", Title: "Trims, and what the meters should show",
		Why: fmt.Sprintf("The unit has its sound at its operating level, %+.4g dBu: much below it lies in the noise, much above it clips. One figure for all pairs keeps the balance you mixed.", m.rig.Summing.OperatingDBu),
		Asked: []Question{m.ask("What is a trim?", "trim"), m.ask("What is the operating level?", "operating level"),
			{"What does a VU meter show?", fmt.Sprintf("Loudness rather than peaks: its needle takes 300 ms to rise (IEC 60268-17). Here %+.4g VU is %+.4g dBu at the unit and %+.4g dBFS at an output whose full scale is %+.4g dBu.", a.VU, a.DBu, a.DBFS, a.FullScaleDBu())},
			{"My meter shows 3 dB less.", "Then it shows plain rms, in which a full-scale sine reads -3 dBFS. The dBFS figures here are those of a sine: a full-scale sine reads 0 dBFS (AES17)."}},
		Cautions: []string{"Raise the speakers slowly, and only after the return shows what it should."},
	}
	if m.Levels == nil {
		s.Do = []Item{{Text: "The tracks were not at hand, so no levels stand here: " + m.command("levels SHEET --rig RIG")},
			{Text: "Play the loudest passage. Raise or lower all pairs alike until the hottest one reads 0 VU in it and nothing clips."}}
		return s
	}
	s.Do = append(s.Do, m.balanced(), Item{Text: "Play the loudest passage and hold the meters of every pair against the table. A pair that is off by more than 1 dB is not routed as the sheet says."})
	var over []string
	for _, p := range m.list.Pairs {
		if p.Meter != nil && p.Meter.OverCount > 0 {
			over = append(over, fmt.Sprintf("%s goes beyond its limit %s as exported", p.Path, sheet.Plural(p.Meter.OverCount, "time", "times")))
		}
	}
	if len(over) > 0 {
		s.Do = append(s.Do, Item{Text: "Clips before the trim:", More: over})
	}
	s.Do = append(s.Do, Item{Text: fmt.Sprintf("To drive one pair harder, or to bring each to 0 VU: its own trim at the output, and as much off at its level control on %s. Without a control there it changes the balance.", m.list.Unit)},
		m.returned())
	return s
}

func (m *maker) balanced() Item {
	var trims []string
	first, same, any := 0.0, true, false
	for _, p := range m.list.Pairs {
		if p.Meter == nil {
			continue
		}
		if !any {
			first, any = p.Meter.BalanceDB, true
		}
		same = same && p.Meter.BalanceDB == first
		trims = append(trims, fmt.Sprintf("%s: %+.1f dB", m.describe(p), p.Meter.BalanceDB))
	}
	if !any {
		return Item{Text: "All pairs are silent: there is nothing to set."}
	}
	by := ""
	for _, p := range m.list.Pairs {
		if p.Number == m.list.Return.LimitedBy {
			by = fmt.Sprintf("%s sets it: %s", p.Path, limits[p.Meter.OwnLimit])
		}
	}
	if same {
		return Item{Text: fmt.Sprintf("All pairs alike: %+.1f dB at the output of every pair. %s.", first, by)}
	}
	return Item{Text: fmt.Sprintf("At the outputs, so that the balance stays though the interfaces put out different levels for the same figure. %s.", by), More: trims}
}

// limits says in words what set a trim of package levels.
var limits = map[string]string{
	"operating level": "its loud passages then read 0 VU",
	"true peak":       "its true peak then stands at -1 dBTP",
	"unit input":      "its peaks then stand at the most the unit's inputs take",
}

func (m *maker) returned() Item {
	r := m.list.Return
	if r.Reading == nil {
		return Item{Text: "The return: its peaks at -1 dBTP at the most. Set them at the unit's output level, or at the gain of the return inputs."}
	}
	i := Item{Text: fmt.Sprintf("The return, while %s neither lifts nor lowers: %s VU in loud passages, %s dBFS, peaks at %s dBTP.", m.list.Unit, db(r.Reading.VULoud), db(r.Reading.DBFSLoud), db(r.Reading.TruePeakDBTP))}
	if r.SpareDB < 0 {
		i.Text += fmt.Sprintf(" That is too hot: take %.1f dB off at the unit's output level or at the gain of the return inputs, not at the pairs.", -float64(r.SpareDB))
	} else {
		i.Text += fmt.Sprintf(" That leaves %.1f dB to -1 dBTP. Set it at the unit's output level or at the gain of the return inputs.", float64(r.SpareDB))
	}
	i.More = []string{fmt.Sprintf("reckoned for inputs of %s that take as many dBu at 0 dBFS as its outputs give; its maker's manual says", r.Interface)}
	return i
}

func (m *maker) mixThrough() Step {
	return Step{
		Name: "mix", Title: "Mix through the unit from the start",
		Why: "The unit answers to level and to what plays together. A mix made without it and sent through at the end is another mix.",
		Do: []Item{
			{Text: "Hear \"Return\" and nothing else from the first fader on."},
			{Text: "Ride and process on the tracks and buses. Trims and the unit's controls stay as they are, or go onto the recall sheet each time."},
			{Text: "Look at the pairs' meters now and then: a mix that grows drives the unit harder and harder."},
			{Text: "A new track goes to the pair of its kind: " + m.command("explain SHEET") + " says what is where."},
		},
		Cautions: []string{"Listen at a level you can keep up: 85 dBA for 8 hours a day, half the time for every 3 dB more (NIOSH 98-126). Rest your ears."},
	}
}

func (m *maker) record() Step {
	s := Step{
		Name: "record", Title: "Print",
		Why: "In real time, because the unit cannot play faster. From before the first sound to after the last tail, because nothing can be added later.",
		Do: []Item{
			{Text: "The unit warm: as long as its maker says, or half an hour (common practice). Nothing else running on the computer."},
		},
		Asked: []Question{m.ask("What is a tail?", "tail"), {"Can it be rendered faster than real time?", "No. The signal has to leave the computer, pass the unit and come back, and that takes as long as the song."}},
	}
	if p := m.list.Print; p != nil {
		s.Do = append(s.Do, Item{Text: fmt.Sprintf("Record %s: from %g s before the tracks begin to %g s after they end. They are %s long; the first sound is at %s, the last falls 60 dB below the highest peak at %s.",
			clock(p.RecordS, false), p.BeforeS, p.AfterS, clock(p.TracksS, true), clock(p.FirstS, true), clock(p.LastS, true))})
		if float64(p.CutDB) < tailDB {
			s.Do = append(s.Do, Item{Text: fmt.Sprintf("The tracks end while the sound is only %.0f dB below the highest peak: the tail is cut off. Let it ring in the session, or export them longer.", float64(p.CutDB))})
		}
	} else {
		s.Do = append(s.Do, Item{Text: fmt.Sprintf("Record from %g s before the first sound to %g s after the last.", beforeS, afterS)})
	}
	return with(s, Item{Text: "A reverb or delay on \"Return\" rings longer: stop when its meter stands still."},
		Item{Text: "Hands off while it runs. Look for clip lights on the interface, the unit and the print track: one is enough to print again."})
}

func with(s Step, more ...Item) Step {
	s.Do = append(s.Do, more...)
	return s
}

func (m *maker) checkPrint() Step {
	s := Step{
		Name: "check print", Title: "Check the print before you clear anything away",
		Why: "Now everything still stands as it was. In an hour it does not.",
	}
	if p := m.list.Print; p != nil {
		s.Do = append(s.Do, Item{Text: fmt.Sprintf("Length: %s at least, the tracks and what came after them; %s if you began and stopped as above.", clock(math.Ceil(p.TracksS), false), clock(p.RecordS, false))})
	} else {
		s.Do = append(s.Do, Item{Text: "Length: as long as the song with its last tail, at least."})
	}
	return with(s,
		Item{Text: "No sample at full scale: the highest peak below -1 dBTP."},
		Item{Text: "Silence before the first sound and after the last: only the noise of the unit, no click, no count-in, no cut tail."},
		Item{Text: "Both sides: left is left, right is right, neither is missing, and it is as wide as it was. Play something that sits hard on one side."},
		Item{Text: "Listen to it once from end to end, for dropouts."})
}

func (m *maker) compare() Step {
	return Step{
		Name: "compare", Title: "Compare and listen, without being fooled by level",
		Why: "What is louder sounds better, even by half a decibel. An honest judgement needs equal level, the same instant, and eyes shut.",
		Do: []Item{
			{Text: "The mix without the unit: " + m.command("stems SHEET --out stems") + " writes the pairs; import them at 0 dB and export their sum as mix.wav, the same length as the print. Or switch all pairs to the main output for one export, and back."},
			{Text: "In numbers: foldout compare mix.wav print.wav --out ab. It finds delay, gain and polarity, and says what the trip changed, clipping and dropouts included. Given the bare return instead of the print, it speaks of the unit alone."},
			{Text: "By ear: foldout listen ab. Blind, equally loud, with the exact probability of guessing it."},
			{Text: "To switch by hand between summed and unsummed: move the mix later by the delay and change its level by the gain that compare names, to 0.1 dB, so that it is as loud as the print. One switch, one of the two heard at a time, and let someone else turn it."},
			{Text: "Never play both at once: they are one sound at two times."},
		},
		Cautions: []string{"Switch at a moderate level. A mistake in the routing is loudest at the moment of switching."},
	}
}

func (m *maker) export() Step {
	rate := "at the session's rate"
	if p := m.list.Print; p != nil {
		rate = fmt.Sprintf("at %g kHz", float64(p.RateHz)/1000)
	}
	return Step{
		Name: "export", Title: "Export, and keep what brings it back",
		Why: "The sound of this print is the sum of the sheet, the trims and the unit's controls. Only what is written down comes back.",
		Do: []Item{
			{Text: fmt.Sprintf("Export the print as it is, %s, 24 bits or 32-bit float: no normalizing, no change of rate. A fade only after it is kept once without.", rate)},
			{Text: "Keep together: the print, the sheet, the rig, unit.json of the line check, the stems, a photograph of the unit's front."},
			{Text: "Fill in the recall sheet, and keep in the sheet what no figure says: " + m.command(`steps SHEET --rig RIG --note "drive at 3, air switch in"`)},
			{Text: "Levels down, amplifiers off first, then the rest."},
		},
		Asked: []Question{m.ask("What is a recall sheet?", "recall sheet")},
	}
}
