package demo

import "math/rand/v2"

// The song: 100 beats a minute in 4/4, G major. Two bars of introduction, four of verse, four of chorus, one to end.
const (
	tempoBPM   = 100.0
	beatS      = 60 / tempoBPM
	firstBeatS = 0.25
	lengthS    = 28.0

	verse  = 8.0  // first beat of the verse
	chorus = 24.0 // of the chorus
	ending = 40.0 // of the last bar
	last   = 44.0
)

// note is one note of a part; times in beats from the first bar line, pitch as MIDI note number.
type note struct {
	beat, beats float64
	pitch       float64
	strength    float64 // 0..1
}

// seconds is the time of a beat.
func seconds(beat float64) float64 { return firstBeatS + beat*beatS }

// chord is a harmony with the note its bass plays and the fingering a guitar takes.
type chord struct {
	beat, beats float64
	bass        float64   // E1 = 28
	tones       []float64 // pitch classes, root first
	guitar      []float64 // from the lowest string up, all sounding
}

var (
	chordG  = chord{bass: 31, tones: []float64{7, 11, 2}, guitar: []float64{43, 47, 50, 55, 59, 67}}
	chordEm = chord{bass: 28, tones: []float64{4, 7, 11}, guitar: []float64{40, 47, 52, 55, 59, 64}}
	chordC  = chord{bass: 36, tones: []float64{0, 4, 7}, guitar: []float64{48, 52, 55, 60, 64}}
	chordD  = chord{bass: 38, tones: []float64{2, 6, 9}, guitar: []float64{50, 57, 62, 66}}
)

// harmony lists the chords in order.
var harmony = layOutChords([]struct {
	chord
	beats float64
}{
	{chordG, 4}, {chordD, 4}, // introduction
	{chordG, 4}, {chordEm, 4}, {chordC, 4}, {chordD, 4}, // verse
	{chordC, 2}, {chordD, 2}, {chordG, 2}, {chordEm, 2}, {chordC, 2}, {chordD, 2}, {chordEm, 2}, {chordC, 2}, // chorus
	{chordG, 4},
})

func layOutChords(list []struct {
	chord
	beats float64
}) []chord {
	var out []chord
	var beat float64
	for _, c := range list {
		c.chord.beat, c.chord.beats = beat, c.beats
		out = append(out, c.chord)
		beat += c.beats
	}
	return out
}

// chordAt returns the chord that sounds at a beat.
func chordAt(beat float64) chord {
	for _, c := range harmony {
		if beat < c.beat+c.beats {
			return c
		}
	}
	return harmony[len(harmony)-1]
}

// toneBelow returns the highest note of the chord at least gap semitones below pitch.
func (c chord) toneBelow(pitch, gap float64) float64 {
	for p := pitch - gap; p > 0; p-- {
		for _, t := range c.tones {
			if int(p)%12 == int(t) {
				return p
			}
		}
	}
	return pitch
}

// voicing returns n neighbouring notes of the chord, the highest at or below top, from low to high.
func (c chord) voicing(top float64, n int) []float64 {
	out := make([]float64, n)
	p := top + 1
	for i := n - 1; i >= 0; i-- {
		p = c.toneBelow(p, 1)
		out[i] = p
	}
	return out
}

// humanise moves notes by a few milliseconds and changes their strength a little, as hands do.
func humanise(notes []note, r *rand.Rand, jitterS float64) []note {
	drift := 0.0
	out := make([]note, len(notes))
	for i, n := range notes {
		drift = 0.8*drift + 0.6*jitterS*r.NormFloat64()
		n.beat += (drift + 0.4*jitterS*r.NormFloat64()) / beatS
		n.strength = min(1, max(0.05, n.strength*(1+0.09*r.NormFloat64())))
		out[i] = n
	}
	return out
}
