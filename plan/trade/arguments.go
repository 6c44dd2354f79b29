package trade

// arguments say why buses share a pair, for newcomers (common practice, no source). The first whose buses are all
// there is given.
var arguments = []struct {
	buses []string
	text  string
}{
	{[]string{"Drums", "Bass"}, "Kick and bass are one instrument to the listener. Both live below 250 Hz and strike together, so they have to be balanced against each other first, and are pushed into a channel together. It also keeps the strongest low notes out of the channels of voices and guitars, which they would modulate; that is measured, and is heard only where the channel is driven hard."},
	{[]string{"Drums", "Percussion"}, "Percussion plays the drummer's grid: short, noisy strokes with high crest factors. On the drums' pair its peaks fall between theirs, and the room and the overheads tie all of it together."},
	{[]string{"Bass", "Electric guitars"}, "Bass and guitars are the strings of the band: plucked, held for about as long, often playing one riff an octave apart. Away from the drums their steady level does not pump with the kick."},
	{[]string{"Electric guitars", "Acoustic guitars"}, "All guitars share a register, 100 Hz to 5 kHz, and a job: the chords in the middle. On one pair you balance them as a section, and whatever the channel adds is the same for all of them."},
	{[]string{"Keys", "Horns"}, "Keys and horns fill the same middle register with held notes of moderate crest factor; they answer each other in an arrangement and are turned up and down as a section."},
	{[]string{"Keys", "Synths"}, "Keys and synthesisers are one player's two hands: held chords across the whole middle, little bleed, steady levels."},
	{[]string{"Strings", "Horns"}, "Strings and horns are the section that swells: slow attacks, long notes, high tonality. One pair keeps their balance when you ride them."},
	{[]string{"Keys", "Strings"}, "Keys and strings hold the harmony: slow, tonal, in one register. On one pair they make a bed that moves as one."},
	{[]string{"Lead vocals", "Backing vocals"}, "Voices belong together because the ear treats them as one choir around the lead: same register, same words, same breath. Nothing else shares their pair, so nothing else moves when a singer leans into the microphone."},
	{[]string{"Lead vocals"}, "The lead has a pair of its own because everything else is balanced against it. Whatever the channel does, it does to the lead alone, and its level can be ridden without touching anything else."},
	{[]string{"Backing vocals"}, "Backing voices are many takes of one timbre; they are one part, and want one fader and one channel."},
	{[]string{"Drums"}, "A drum kit is one instrument heard by many microphones. They all hear each other, so their phases and levels only make sense together."},
	{[]string{"Bass"}, "The bass alone keeps the lowest octaves in one channel: steady, strong, and with nothing beside it."},
	{[]string{"Percussion"}, "Percussion alone keeps its sharp peaks off everything that holds its notes."},
	{[]string{"Electric guitars"}, "Electric guitars already come compressed by their amplifiers: low crest factor, one register. Alone they make a wall of one texture."},
}

// Argument returns why buses share a pair.
func Argument(buses map[string]bool) string {
	for _, a := range arguments {
		all := true
		for _, b := range a.buses {
			all = all && buses[b]
		}
		if all && len(a.buses) > 0 && (len(a.buses) > 1 || len(buses) == 1) {
			return a.text
		}
	}
	return ""
}
