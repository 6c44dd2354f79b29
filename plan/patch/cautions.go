package patch

// Cautions stand on every sheet that sends a person to the cables.
//
// Sources: listening levels from NIOSH 98-126 (1998; 85 dBA for 8 hours, 3 dB exchange) and ITU-T H.870 (03/2022, with
// the World Health Organization; 80 dBA for 40 hours a week, 75 dBA for children); protective earth IEC 60364-4-41;
// the others are the practice of the trade and of makers' manuals.
var Cautions = []string{
	"Monitors down or muted before you patch. Power amplifiers go on last and off first. When all is plugged, bring the monitors up from zero.",
	"Phantom power off before you plug, and never towards line outputs.",
	"Never route the return or the print track to a pair: it would feed itself and howl.",
	"Anything that runs on mains can kill when opened, valve units even switched off and unplugged: lethal voltages stay in them. Do not open: licensed technicians only.",
	"Never lift the safety earth to cure hum. Use balanced lines, one supply point, or isolation transformers in the signal.",
	"Listening levels: 85 dBA for 8 hours a day, half the time for every 3 dB more (NIOSH); 80 dBA for 40 hours a week, children 75 dBA (WHO and ITU).",
	"Local electrical codes and the makers' manuals come before this sheet.",
}
