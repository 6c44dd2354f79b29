// Package demo makes an invented song: some thirty tracks of a small band as an engineer would receive them, one WAV
// file each, all from the same start, 48 kHz, 24 bit.
//
// Every sound is computed: strings are digital waveguides, voices are glottal pulses through vocal-tract resonances,
// drums are membrane modes and noise heard by microphones at places in a room, the piano is a set of stiff strings, and so on;
// each file of this package names its sources. Nothing is random from run to run: the same version writes the same files.
package demo

// Metadata describes the recording.
type Metadata struct {
	Title, Artist string
	Key           string
	TempoBPM      float64
	SampleRateHz  int
	DurationS     float64
	Tracks        []Track
}

// Track is one file of the recording.
type Track struct {
	File       string // name of the WAV file
	Instrument string
	Musician   string
	Channels   int
	PeakDBFS   float64 // sample peak; meaningless for a silent track
	Silent     bool

	render func(*session) [][]float64
}

// Song is the recording that Render writes. Title and musicians are invented.
var Song = Metadata{
	Title: "Harbour of Small Lamps", Artist: "Ottoline Fenn and the Weathercocks", Key: "G major",
	TempoBPM: tempoBPM, SampleRateHz: rate, DurationS: lengthS, Tracks: tracks(),
}
