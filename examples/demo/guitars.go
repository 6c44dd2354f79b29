package demo

import (
	"math"
	"math/rand/v2"
)

// Strings as their makers and players set them; values by ear.
var (
	bassString     = pluck{decayS: 5, damping: 0.32, position: 0.22, edgeHz: 1100, scrape: 0.3, pickup: 0.12, releaseS: 0.12}
	electricString = pluck{decayS: 4, damping: 0.16, position: 0.14, edgeHz: 3500, scrape: 0.6, pickup: 0.09, releaseS: 0.15}
	mutedString    = pluck{decayS: 0.35, damping: 0.45, position: 0.08, edgeHz: 2500, scrape: 0.8, pickup: 0.09, releaseS: 0.06}
	leadString     = pluck{decayS: 6, damping: 0.14, position: 0.17, edgeHz: 3000, scrape: 0.5, pickup: 0.2, releaseS: 0.1}
	steelString    = pluck{decayS: 3, damping: 0.04, position: 0.16, edgeHz: 9000, scrape: 1, releaseS: 0.2}
)

// playString adds notes on a string to out.
func playString(out []float64, notes []note, p pluck, r *rand.Rand) {
	for _, n := range notes {
		hz := noteHz(n.pitch) * math.Exp2(0.015*r.NormFloat64()/12)
		q := p
		q.position *= between(r, 0.85, 1.2)
		ringString(out, samples(seconds(n.beat)), samples(n.beats*beatS), hz, n.strength, q, nil, r)
	}
}

// bassNotes is the bass line: roots and fifths, with a run into the next chord.
func bassNotes() []note {
	var out []note
	for i, c := range harmony {
		root, fifth := c.bass, c.bass+7
		if fifth > 43 {
			fifth -= 12
		}
		next := root
		if i+1 < len(harmony) {
			next = harmony[i+1].bass
		}
		lead := next + 2 // a step above or below the coming root
		if next > root {
			lead = next - 2
		}
		switch {
		case i == len(harmony)-1:
			out = append(out, note{c.beat, 3.7, root, 0.9})
		case c.beats == 4:
			out = append(out, note{c.beat, 1.4, root, 0.9}, note{c.beat + 1.5, 0.45, root, 0.6}, note{c.beat + 2, 0.9, root + 12, 0.75},
				note{c.beat + 3, 0.45, fifth, 0.7}, note{c.beat + 3.5, 0.45, lead, 0.7})
		default:
			out = append(out, note{c.beat, 0.7, root, 0.95}, note{c.beat + 0.75, 0.22, root, 0.55}, note{c.beat + 1, 0.45, fifth, 0.75},
				note{c.beat + 1.5, 0.45, lead, 0.75})
		}
	}
	return out
}

// bass plays the line; out comes the signal at the jack.
func bass() []float64 {
	r := newRand("bass")
	out := make([]float64, samples(lengthS))
	playString(out, humanise(bassNotes(), r, 0.005), bassString, r)
	pickup(out, 2800, 1.1)
	compress(-14, 2, 0.01, 0.15, out)
	return out
}

// bassAmp is the loudspeaker's view of the jack signal, a millisecond later at the microphone.
func bassAmp(di []float64) []float64 {
	x := make([]float64, len(di))
	mixInto(x, di, samples(0.0011), 1/peakOf(di))
	through(x, highPass(45, 0.8), bell(90, 4, 0.9), bell(400, -4, 0.8), bell(900, 3, 0.9))
	softClip(x, 2.2, 0.2)
	through(x, highPass(40, 0.7))
	return convolve(x, cabinet("bass", 3200, 3))
}

// strum plays the strings of a chord one after the other.
func strum(out []note, beat, beats float64, strings []float64, strength float64, up bool) []note {
	for i := range strings {
		k := i
		if up {
			k = len(strings) - 1 - i
		}
		out = append(out, note{beat + float64(i)*0.009/beatS, beats, strings[k], strength * math.Pow(0.94, float64(i))})
	}
	return out
}

// rhythmGuitar is one of two takes of the same part: damped eighths in the verse, open chords in the chorus.
func rhythmGuitar(take string) []float64 {
	r := newRand("rhythm guitar " + take)
	out := make([]float64, samples(lengthS))
	var muted, open []note
	for _, c := range harmony {
		low := c.guitar[:3]
		switch {
		case c.beat < verse:
		case c.beat < chorus:
			for e := 0.0; e < c.beats; e += 0.5 {
				if e == 1.5 || e == 3.5 {
					open = strum(open, c.beat+e, 0.4, low, 0.8, false)
					continue
				}
				muted = strum(muted, c.beat+e, 0.3, low[:2], 0.85, false)
			}
		case c.beat < ending:
			for _, e := range []struct{ at, beats float64 }{{0, 0.72}, {0.75, 0.7}, {1.5, 0.48}} {
				open = strum(open, c.beat+e.at, e.beats, c.guitar[:4], 0.9, e.at == 1.5)
			}
		default:
			open = strum(open, c.beat, 4, c.guitar[:4], 0.95, false)
		}
	}
	playString(out, humanise(muted, r, 0.006), mutedString, r)
	playString(out, humanise(open, r, 0.008), electricString, r)
	pickup(out, between(r, 3300, 3900), 1.4)
	scale(out, 1/peakOf(out))
	return amplify(out, between(r, 5, 6), cabinet(take, 4300, 5))
}

var leadNotes = []note{
	{0, 0.95, 71, 0.9}, {1, 0.45, 74, 0.8}, {1.5, 1.4, 76, 0.9}, {3, 0.45, 74, 0.8}, {3.5, 0.45, 71, 0.7},
	{4, 0.95, 69, 0.9}, {5, 0.45, 71, 0.8}, {5.5, 2.2, 74, 1},
	{14, 0.45, 76, 0.8}, {14.5, 0.45, 74, 0.8}, {15, 0.9, 71, 0.9},
	{21.5, 0.45, 78, 0.8}, {22, 0.45, 76, 0.8}, {22.5, 0.45, 74, 0.8}, {23, 0.9, 78, 1},
	{31, 0.45, 79, 0.9}, {31.5, 0.45, 78, 0.8}, {39, 0.45, 76, 0.9}, {39.5, 0.45, 78, 0.9}, {40, 3.2, 79, 1},
}

// leadGuitar bends into its long notes and lets them swing.
func leadGuitar() []float64 {
	r := newRand("lead guitar")
	out := make([]float64, samples(lengthS))
	for _, n := range humanise(leadNotes, r, 0.01) {
		var rise float64
		if n.beats > 0.8 {
			rise = 1
		}
		hz := between(r, 5, 5.8)
		bend := func(t float64) float64 {
			vibrato := 0.22 * math.Min(1, math.Max(0, (t-0.25)/0.3)) * math.Sin(2*math.Pi*hz*t)
			return vibrato - rise*math.Exp(-math.Pow(t/0.06, 2))
		}
		ringString(out, samples(seconds(n.beat)), samples(n.beats*beatS), noteHz(n.pitch), n.strength, leadString, bend, r)
	}
	pickup(out, 3000, 1.6)
	scale(out, 1/peakOf(out))
	return amplify(out, 14, cabinet("lead", 4600, 4))
}

// acousticGuitar strums sixteenths with a pick, close to a microphone at the twelfth fret.
func acousticGuitar() []float64 {
	r := newRand("acoustic guitar")
	out := make([]float64, samples(lengthS))
	var notes []note
	for _, c := range harmony {
		if c.beat == ending {
			notes = strum(notes, c.beat, 4, c.guitar, 0.9, false)
			break
		}
		if c.beat < 4 {
			for i, k := range []int{0, 2, 3, 4, 1, 3, 4, 3} { // picked
				notes = append(notes, note{c.beat + float64(i)/2, 1, c.guitar[k], 0.6})
			}
			continue
		}
		for e := 0.0; e < c.beats; e += 0.5 {
			down := 0.8
			if math.Mod(e, 2) == 1 {
				down = 1
			}
			notes = strum(notes, c.beat+e, 0.5, c.guitar, 0.75*down, false)
			if math.Mod(e, 1) == 0.5 {
				top := c.guitar[len(c.guitar)-4:]
				notes = strum(notes, c.beat+e+0.25, 0.25, top, 0.45, true)
			}
		}
	}
	playString(out, humanise(notes, r, 0.007), steelString, r)
	for _, n := range notes { // the pick's own click on each string
		click := make([]float64, samples(0.006))
		for i := range click {
			click[i] = 0.012 * n.strength * r.NormFloat64() * math.Exp(-float64(i)/rate/0.0015)
		}
		mixInto(out, click, samples(seconds(n.beat)), 1)
	}
	out = convolve(out, woodenBody("acoustic guitar", 98, 196, 4096))
	through(out, highPass(90, 0.7), bell(200, -4, 0.8), highShelf(700, 10), highShelf(1300, 9), highShelf(5000, 3))
	compress(-12, 2, 0.005, 0.1, out)
	return out
}
