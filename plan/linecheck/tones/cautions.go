package tones

import (
	"fmt"
	"slices"
	"strings"
)

// Cautions come before anything is played. Sources: NIOSH 98-126 (85 dBA for 8 hours, 3 dB exchange); the others are
// common practice, no source.
var Cautions = []string{
	"Turn the monitors off or mute them, and take headphones off and out of the way, before you play these files. They hold loud sweeps and steady tones.",
	"Never play them through loudspeakers: a sweep at this level can burn a tweeter. They belong on the pairs that lead to the summing unit, and the return belongs on a record track that is not monitored.",
	"The return must not feed a pair: a loop through the unit howls. Check the routing first.",
	"The first time, and after every change of cables, run once 20 dB down: foldout tones ... --level -20. Only when that recording looks right go up to operating level.",
	"If you must listen, keep it under 85 dBA and short: NIOSH allows 85 dBA for 8 hours a day, and half the time for every 3 dB more.",
	"Plug and unplug with the levels down, and with phantom power off on the inputs you use. The makers' manuals and your local electrical code come before this text. Never lift a protective earth to cure hum.",
}

// HowTo says how the check is run.
func (p *Plan) HowTo() []string {
	return []string{
		"Put each file on a stereo track of its own, all from the same start, faders at 0 dB, nothing on the inserts, pan hard left and right: " + p.feeds() + ".",
		"Set the trims, pans and switches of the unit as for the mix. Arm the print track on the stereo return, at the same sample rate.",
		fmt.Sprintf("Record in real time from before the start until after the end (%s). Starting early and stopping late does no harm.", clock(p.Program().Seconds())),
		"Export the recording as it is, without normalising, fades or a change of rate, then: foldout trace RETURN.wav --tones FOLDER",
	}
}

// feeds says which outputs the files go to. Where an interface counts its outputs otherwise than the names of the files do, which
// count through all interfaces, every file is listed with its interface.
func (p *Plan) feeds() string {
	files := p.Files()
	if !slices.ContainsFunc(p.Sends, func(s Send) bool { return s.Interface != "" && s.InterfaceOutput != s.Output }) {
		return fmt.Sprintf("%s feeds outputs %d/%d, and so on to %s", files[0], p.Sends[0].Output, p.Sends[1].Output, files[len(files)-1])
	}
	var each []string
	for n, file := range files {
		l, r := p.Sends[2*n], p.Sends[2*n+1]
		each = append(each, fmt.Sprintf("%s feeds %s outputs %d/%d", file, l.Interface, l.InterfaceOutput, r.InterfaceOutput))
	}
	return strings.Join(each, ", ")
}

// Unlike says what each interface adds to the levels of the first, which are those that are listed; "" where all are alike.
func (p *Plan) Unlike() string {
	var others []string
	for _, s := range p.Sends {
		if by := s.FullScaleDBu - p.Sends[0].FullScaleDBu; by != 0 {
			if said := fmt.Sprintf("%s puts out %+.1f dB against it", s.Interface, by); !slices.Contains(others, said) {
				others = append(others, said)
			}
		}
	}
	if len(others) == 0 {
		return ""
	}
	return fmt.Sprintf("The levels in dBu are those of %s; %s.", p.Sends[0].Interface, strings.Join(others, ", "))
}

func (p *Plan) readMe() string {
	var b strings.Builder
	b.WriteString("READ THIS BEFORE YOU PLAY THE TONES\r\n\r\n")
	for _, c := range Cautions {
		b.WriteString("! " + c + "\r\n\r\n")
	}
	b.WriteString("HOW TO RUN THE CHECK\r\n\r\n")
	for n, s := range p.HowTo() {
		fmt.Fprintf(&b, "%d. %s\r\n\r\n", n+1, s)
	}
	b.WriteString("LEVELS\r\n\r\n")
	for _, l := range p.Levels() {
		fmt.Fprintf(&b, "%-34s %6.1f dBFS   %+6.1f dBu   peak %6.1f dBFS\r\n", l.What, l.DBFS, l.DBu, l.PeakDBFS)
	}
	if unlike := p.Unlike(); unlike != "" {
		b.WriteString("\r\n" + unlike + "\r\n")
	}
	return b.String()
}

func clock(seconds float64) string {
	return fmt.Sprintf("%d:%02d", int(seconds)/60, int(seconds)%60)
}
