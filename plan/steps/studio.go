package steps

import (
	"fmt"
	"math"
	"slices"
	"strings"

	"foldout/plan/patch"
	"foldout/plan/sheet"
)

func (m *maker) safe() Step {
	s := Step{
		Name: "safe", Title: "Make it quiet and safe",
		Why: "You are about to change what reaches the speakers and to put hands on cables. Nearly all accidents happen now.",
		Do: []Item{
			{Text: "Speakers off, or the monitor level all the way down. Headphones off your head."},
			{Text: fmt.Sprintf("Phantom power off on %s and on every other input that you plug; wait half a minute until it has drained.", m.list.Return.where())},
			{Text: fmt.Sprintf("Levels of %s down. Switch it on before the power amplifiers and off after them; its maker's manual says how, and how long it has to warm up.", m.list.Unit)},
		},
		Cautions: patch.Cautions,
	}
	if i := m.monitors(); i != nil {
		s.Do[0].Text += fmt.Sprintf(" The speakers hang on outputs %s of %s.", two(i.MonitorPair), i.Name)
	}
	return s
}

func (m *maker) plug() Step {
	s := Step{
		Name: "plug", Title: "Plug the pairs and the return",
		Why: "Six hand-offs lie between a track and the print. One wrong plug is silence, a swapped side or a loop.",
	}
	for _, p := range m.list.Pairs {
		s.Do = append(s.Do, Item{Text: fmt.Sprintf("%s: %s outputs %s to %s inputs %s", p.Path, p.Interface, two(p.Outputs), m.list.Unit, two(p.SummingInputs)),
			More: []string{fmt.Sprintf("left: %s to %s; right: %s to %s", p.From[0], p.To[0], p.From[1], p.To[1])}})
	}
	r := m.list.Return
	if r.Stated {
		s.Do = append(s.Do, Item{Text: fmt.Sprintf("Return: stereo output of %s to %s inputs %s", m.list.Unit, r.Interface, two(r.Inputs)),
			More: []string{fmt.Sprintf("left: %s to %s; right: %s to %s", r.From[0], r.To[0], r.From[1], r.To[1])}})
	} else {
		s.Do = append(s.Do, Item{Text: fmt.Sprintf("Return: stereo output of %s to two line inputs of one interface. The rig does not say which: write them on the recall sheet, and into the rig's [return] table.", m.list.Unit)})
	}
	s.Do = append(s.Do,
		Item{Text: "A number on both ends of every cable, and the numbers on the recall sheet."},
		Item{Text: fmt.Sprintf("Inputs of %s that carry nothing: level down. Their noise adds up.", m.list.Unit)},
		Item{Text: "Pins, cables to buy, a drawing: " + m.command("patch SHEET --rig RIG")})
	s.Cautions = []string{"Plug with levels down. Never push a plug that does not go by itself."}
	s.Asked = []Question{{"Which of the two outputs is left?", "The first one named: of outputs 3/4 output 3 is left and output 4 is right. The same holds for inputs."}}
	return s
}

func (m *maker) outputs() Step {
	s := Step{
		Name: "outputs", Title: "Make the outputs and name them",
		Why: "Whoever opens the session next year sees from the names alone where everything goes.",
	}
	for _, p := range m.list.Pairs {
		text := fmt.Sprintf("A stereo output path \"%s\": output %d left, output %d right", p.Path, p.Outputs[0], p.Outputs[1])
		if m.several() {
			text += " of " + p.Interface
		}
		if p.Free {
			text += " (nothing is on it yet)"
		}
		s.Do = append(s.Do, Item{Text: text + "."})
	}
	s.Do = append(s.Do, Item{Text: fmt.Sprintf("A stereo output path \"Speakers\" on %s. It carries the return and nothing else.", m.speakers())})
	s.Asked = []Question{m.ask("What is a pair?", "pair")}
	return s
}

func (m *maker) route() Step {
	s := Step{
		Name: "route", Title: "Tracks to buses, buses to pairs, and nothing to the main output",
		Why: "A track leaves the computer through one pair only. Left on the main output as well, it would be heard twice: once straight, once through the unit.",
	}
	for _, p := range m.list.Pairs {
		if p.Free {
			continue
		}
		item := Item{Text: fmt.Sprintf("%s (%s): %s, each to this output, none to the main output", p.Path, m.outs(p), sheet.Plural(len(p.Buses), "bus", "buses"))}
		for _, b := range p.Buses {
			item.More = append(item.More, fmt.Sprintf("%s: %s", b.Name, trackNames(b.Tracks)))
		}
		s.Do = append(s.Do, item)
	}
	s.Do = append(s.Do,
		Item{Text: "Faders, panning, inserts and automation stay on the tracks and buses. The buses' faders stand at 0 dB and their panning is hard left and right."},
		Item{Text: "Effect returns are tracks of their own and leave through the pair that the sheet gives them; the sends to the effects stay as they are."},
		Item{Text: "Proof: lower the output faders of all pairs. Now nothing may sound. What still sounds is on the main output: move it."})
	if len(m.Sheet.SetAside) > 0 {
		var aside []string
		for _, a := range m.Sheet.SetAside {
			aside = append(aside, fmt.Sprintf("%s: %s", sheet.TrackName(a.File), a.Reason))
		}
		s.Do = append(s.Do, Item{Text: "On no pair, because the sheet set it aside:", More: aside})
	}
	s.Asked = []Question{m.ask("What is a bus?", "bus"), {"May a bus be split over two pairs?", "Better not: its tracks would no longer pass the same channel, and what you do to the pair would change half of it."}}
	return s
}

func (m *maker) comesBack() Step {
	r := m.list.Return
	where := r.where()
	if !r.Stated {
		where = "the two inputs where the unit comes back"
	}
	s := Step{
		Name: "return", Title: "Make the return input",
		Why: "From here on this one stereo input is the mix. What you do not hear on it is not in the print.",
		Do: []Item{
			{Text: fmt.Sprintf("A stereo input track \"Return\" on %s, left panned hard left, right hard right, fader at 0 dB.", where)},
			{Text: "The input's gain at line level, the same on both sides, microphone amplifiers and pads out; write down what it says."},
			{Text: "Its output is \"Speakers\", and no pair: not directly, not through a send, not through a group."},
		},
		Cautions: []string{"A return that reaches a pair feeds itself: it howls at full level within a second. Check its output and its sends before you raise anything."},
		Asked:    []Question{m.ask("What is the return?", "return")},
	}
	return s
}

func (m *maker) master() Step {
	return Step{
		Name: "master", Title: "The return is the master now",
		Why: "The old main output is empty: processing left there would work on silence. What is meant for the whole mix has to sit where the whole mix is, and that is the return.",
		Do: []Item{
			{Text: "Move the processing of the old main output onto \"Return\", in the same order. Off on the old main output."},
			{Text: "Limiters and loudness processing off until trims are set: they would hide what the unit does."},
			{Text: "Look at the meter of the old main output while the song plays: it must not move."},
		},
		Asked: []Question{{"Why not leave the master processing where it was?", "Because only what you send there passes it, and that is nothing now. Compression, equalization and limiting of the whole mix come after the unit, on the summed signal, as they would in a studio with a desk."},
			{"And the processing on a single bus?", "It stays on the bus, before the pair. The unit then sums what you shaped."}},
	}
}

func (m *maker) printTrack() Step {
	r := m.list.Return
	format := "at the rate of the session, 24 bits or 32-bit float"
	if p := m.list.Print; p != nil {
		format = fmt.Sprintf("at %g kHz as the tracks are, 24 bits or 32-bit float", float64(p.RateHz)/1000)
	}
	return Step{
		Name: "print track", Title: "Make the print track",
		Why: "The print is the mix. It has to be recorded, because no file in the computer holds what the unit did.",
		Do: []Item{
			{Text: fmt.Sprintf("A stereo audio track \"%s\", %s.", r.PrintTrack, format)},
			{Text: "Its input: \"Return\" after its processing. With a track to spare record the bare return beside it: compare then tells the unit from the processing."},
			{Text: "Armed for recording. Its output goes to the speakers only, never to a pair and never to a bus that leads to one."},
		},
		Cautions: []string{"Never route the print track to a pair: with its input heard it would feed itself and howl."},
		Asked:    []Question{m.ask("What is a print?", "print")},
	}
}

func (m *maker) mute() Step {
	s := Step{
		Name: "mute", Title: "Mute what would be heard twice",
		Why: "The same sound twice, a few thousandths of a second apart, is hollow and louder. You would judge that, and not the unit.",
		Do: []Item{
			{Text: fmt.Sprintf("While you mix: \"Return\" is heard, \"%s\" is not (input monitoring off, or muted).", m.list.Return.PrintTrack)},
			{Text: fmt.Sprintf("While you play the print back: \"%s\" is heard, \"Return\" is muted.", m.list.Return.PrintTrack)},
			{Text: "The mix inside the computer, if you keep a bus for it to compare with: muted, and to \"Speakers\" only."},
			{Text: "In the interface's own mixer: direct monitoring of the return inputs off, and no pair copied to the speakers."},
			{Text: "Click, talkback and reference songs go straight to the speakers, never through a pair, and are muted for the print."},
		},
		Asked: []Question{m.ask("What is a comb filter?", "comb filter")},
	}
	return s
}

// lateSamples is from when on outputs that arrive at different times are worth a line: half a sample is 10 us.
const lateSamples = 0.5

func (m *maker) inTime() Step {
	s := Step{
		Name: "in time", Title: "Keep it in time: nothing goes round the unit",
		Why: "Converters take time, out and in. All pairs are late alike, so the mix stays together; what does not take the same way arrives early and smears it.",
		Do: []Item{
			{Text: "Automatic delay compensation on, for tracks, buses and outputs, so that all pairs leave at one time."},
			{Text: "Every sound of the mix leaves through a pair. Nothing goes straight to \"Return\" or to the print track: " + m.early() + "."},
			{Text: "Parallel processing begins and ends on one side of the unit: before the pair, or after the return. A dry copy inside the computer beside a wet one through the unit is a comb filter."},
			{Text: "No change of plug-ins, buffer size or sample rate between line check and print: it may move the delay."},
		},
		Asked: []Question{m.ask("Why is the return late?", "latency")},
	}
	if m.several() {
		var boxes []string
		for _, p := range m.list.Pairs {
			if !slices.Contains(boxes, p.Interface) {
				boxes = append(boxes, p.Interface)
			}
		}
		s.Do = append(s.Do, Item{Text: fmt.Sprintf("%s run from one clock: one of them leads, the others follow it. Their converters may be late by different times; the line check measures every output, and the earlier pairs are delayed by the difference.", list(boxes))})
	}
	s.Do = append(s.Do, m.apart()...)
	return s
}

// early says by how much what bypasses the unit is early.
func (m *maker) early() string {
	if b := m.Baseline; b != nil && exists(b.LatencySamples) && b.SampleRateHz > 0 {
		ms := 1000 * float64(b.LatencySamples) / float64(b.SampleRateHz)
		return fmt.Sprintf("it would be early by the way through the unit; in the last line check that was %.0f samples, %.1f ms, if its recording began with the tones", float64(b.LatencySamples), ms)
	}
	return "it would be early by the way through the unit, commonly some milliseconds; trace measures it"
}

// apart lists outputs that came late in the last line check.
func (m *maker) apart() []Item {
	if m.Baseline == nil {
		return nil
	}
	var lines []string
	latest := 0.0
	for _, c := range m.Baseline.Channels {
		if d := float64(c.DelaySamples); exists(c.DelaySamples) && d >= lateSamples {
			lines = append(lines, fmt.Sprintf("%s: %.2f samples after the earliest", c.Label, d))
			latest = math.Max(latest, d)
		}
	}
	if len(lines) == 0 {
		return []Item{{Text: "In the last line check all outputs arrived together, within half a sample."}}
	}
	return []Item{{Text: fmt.Sprintf("In the last line check these outputs came late; delay every pair by what it lacks to %.2f samples:", latest), More: lines}}
}

// describe is a pair in a table: "P1 Rhythm, Redwing 1/2".
func (m *maker) describe(p Pair) string {
	if m.several() {
		return fmt.Sprintf("%s, %s %s", p.Path, p.Interface, two(p.Outputs))
	}
	return strings.TrimSpace(fmt.Sprintf("%s, outputs %s", p.Path, two(p.Outputs)))
}
