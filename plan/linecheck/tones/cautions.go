package tones

import (
	"fmt"
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
	last := p.Files()[len(p.Files())-1]
	return []string{
		fmt.Sprintf("Put each file on a stereo track of its own, all from the same start, faders at 0 dB, nothing on the inserts, pan hard left and right: %s feeds outputs %d/%d, and so on to %s.", p.Files()[0], p.Sends[0].Output, p.Sends[1].Output, last),
		"Set the trims, pans and switches of the unit as for the mix. Arm the print track on the stereo return, at the same sample rate.",
		fmt.Sprintf("Record in real time from before the start until after the end (%s). Starting early and stopping late does no harm.", clock(p.Program().Seconds())),
		"Export the recording as it is, without normalising, fades or a change of rate, then: foldout trace RETURN.wav --tones FOLDER",
	}
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
	return b.String()
}

func clock(seconds float64) string {
	return fmt.Sprintf("%d:%02d", int(seconds)/60, int(seconds)%60)
}
