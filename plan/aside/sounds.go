package aside

import (
	"fmt"
	"math"
	"slices"
	"strings"
)

// wholeModel says how like a whole piece of music a track sounds: a logistic model (L2, C = 3) over texture and shape, trained on
// the tracks of nine rendered sessions against their mixes, prints and reference songs (testdata/intruders). Mean and spread of
// each measure in that material, and its weight.
var wholeModel = struct {
	bias  float64
	terms []struct{ mean, spread, weight float64 }
}{-8.891, []struct{ mean, spread, weight float64 }{
	{16.146, 5.754, 2.211},  // breadth
	{0.806, 0.245, 1.218},   // share of time that sounds
	{4.410, 3.172, -0.047},  // level's movement
	{13.313, 6.309, -1.831}, // unevenness of the octaves
	{6.185, 3.172, -0.115},  // movement of the bands
	{15.610, 4.915, -2.784}, // crest factor
	{0.698, 0.289, 1.728},   // tonality
	{0.255, 0.436, 0.949},   // stereo
}}

// wholeness is the probability that a track by itself sounds like a whole piece of music.
func (s *search) wholeness(i int) float64 {
	x := s.wholeVector(i)
	z := wholeModel.bias
	for n, t := range wholeModel.terms {
		z += t.weight * (x[n] - t.mean) / t.spread
	}
	return odds(z)
}

// wholeVector holds the measures of wholeModel, in its order.
func (s *search) wholeVector(i int) []float64 {
	p, t := &s.Tracks[i].Profile, s.look.Textures[i]
	octaves := p.OctaveDB
	stereo := 0.0
	if p.Channels > 1 && !p.DualMono {
		stereo = 1
	}
	return []float64{t.Breadth, t.Sounding, min(t.Varies, 12), shape(octaves[1:9]), min(t.Steady, 12), min(float64(p.CrestDB), 30), p.Tonality, stereo}
}

// shape is the standard deviation of octave levels, each at least -60 dB.
func shape[T ~float64](octaves []T) float64 {
	var s, q float64
	for _, v := range octaves {
		x := max(float64(v), -60)
		s += x
		q += x * x
	}
	n := float64(len(octaves))
	return math.Sqrt(max(0, q/n-s/n*s/n))
}

func (s *search) texture(i int) string {
	t := s.look.Textures[i]
	return fmt.Sprintf("%.0f of 24 bands sound at once, %.0f %% of the time", t.Breadth, 100*t.Sounding)
}

// What a reference song has by which it is set aside without a name that says so: it is stereo, it fills nearly all of the 24 bands at
// once, and it is as loud as released music (streaming services play at -14 LUFS; common practice, no source). The references laid into
// nine sessions filled 22 bands and more at -9 LUFS and louder. An organ, a twelve-string guitar, a shaken drum or a rich synthesiser
// may have one or the other, and is asked about.
const (
	wholeBreadth = 22
	wholeLUFS    = -18.0
)

func (s *search) likeReleased(i int) bool {
	p := &s.Tracks[i].Profile
	return p.Channels > 1 && !p.DualMono && s.look.Textures[i].Breadth >= wholeBreadth && float64(p.IntegratedLUFS) >= wholeLUFS
}

// reference finds a whole piece of music that the other tracks do not explain.
func (s *search) reference(i int, named Kind) Finding {
	if _, sum := s.sums[i]; sum || len(s.Live) < 4 || s.Derived[i] && named != Reference {
		return Finding{} // a kit through a compressor is made from tracks of the session, and so no other song
	}
	whole := s.wholeness(i)
	if named != Reference && whole < 0.3 {
		return Finding{}
	}
	score := math.Log(max(whole, 1e-6)/max(1-whole, 1e-6)) - 0.5
	if named == Reference {
		score += 4.5
	} else {
		// a kit through a compressor fills the bands as well, but the session's own tracks explain it
		loose, asked := s.look.Loose[i]
		if !asked {
			return Finding{} // it does not fill the spectrum
		}
		score += 1.2 * max(-3, min(1.5, loose-3.8))
	}
	if named == "" && s.Names && s.Hints[i].Known() > 0.5 {
		score -= 3
	}
	certainty := 0.99 * odds(score)
	if named != Reference && !s.likeReleased(i) {
		certainty = min(certainty, Certain-0.05)
	}
	return Finding{Kind: Reference, Certainty: certainty, Reason: fmt.Sprintf("a whole piece of music that the other tracks do not add up to: %s, %.1f LUFS", s.texture(i), float64(s.Tracks[i].Profile.IntegratedLUFS))}
}

// click finds ticks on one grid from end to end.
func (s *search) click(i int, named Kind) Finding {
	p := &s.Tracks[i].Profile
	t := s.look.Pulses[i]
	short := p.ActiveShare < 0.35 && t.Hits >= 8
	onGrid := t.Jitter < 0.05 && t.Unlike < 1.5 && t.Filled > 0.85 && t.PeriodS > 0.2 && t.PeriodS < 1.6
	low := p.RegisterShare[0] + p.RegisterShare[1]
	score := -4.0
	if short && onGrid && low < 0.5 {
		score += 4 + 1.5*odds((0.7-t.Unlike)*5)
		if t.Pip && t.Hits >= 16 {
			score += 1.5
		} else {
			score = min(score, 1) // a one-shot on every beat sounds no other
			if t.Hits < 24 || float64(t.Hits)*t.PeriodS < 0.8*p.DurationS {
				score -= 2 // a click goes on from end to end
			}
		}
	}
	switch {
	case named == Click:
		score += 5
		if p.ActiveShare > 0.7 {
			score -= 3
		}
	case s.Names && s.Hints[i].Known() > 0.5:
		score -= 4
	}
	return Finding{Kind: Click, Certainty: 0.99 * odds(score), Reason: fmt.Sprintf("%d short sounds, alike within %.1f dB, on one grid of %.3f s (off it by %.0f %%)", t.Hits, t.Unlike, t.PeriodS, 100*t.Jitter)}
}

// talkback finds speech now and then.
func (s *search) talkback(i int, named Kind) Finding {
	p, t := &s.Tracks[i].Profile, s.look.Textures[i]
	voice := s.roleShare(i, "lead vocal", "backing vocal")
	score := -3.5
	active, onsets := p.ActiveShare, p.OnsetRateHz
	if t.Loud < active { // an open microphone hisses all the time
		active, onsets = t.Loud, onsets*active/max(t.Loud, 1e-3)
	}
	if active < 0.4 && t.Varies > 6 {
		score += 1.5 * odds((0.25-active)*20)
		score += 1.5 * voice
		if onsets > 3 { // syllables
			score++
		}
	}
	switch {
	case named == Talkback && slices.Contains(split(p.File), "tb") && s.instrument(i) > 0.85:
		score += 2 // "TB 1" is a trombone as well
	case named == Talkback:
		score += 5
	case s.Names && s.Hints[i].Known() > 0.5:
		score -= 4
	}
	return Finding{Kind: Talkback, Certainty: 0.99 * odds(score), Reason: fmt.Sprintf("speech now and then: it sounds %.0f %% of the time, its level moves by %.0f dB", 100*active, t.Varies)}
}

// instrument is the probability of the pitched instrument that the ears think likeliest, voices apart.
func (s *search) instrument(i int) (best float64) {
	for role, p := range s.Heard[i] {
		if !isKit(role) && role != "lead vocal" && role != "backing vocal" {
			best = max(best, p)
		}
	}
	return best
}

// tone finds a sine, or several after one another, at a steady level. One line at one level whose pitch moves is a sweep, or a sine
// that plays a tune, and is asked about.
func (s *search) tone(i int, named Kind) Finding {
	p, t := &s.Tracks[i].Profile, s.look.Textures[i]
	score := -4.0
	pure := t.Breadth <= 3 && float64(p.CrestDB) < 4 && p.Tonality > 0.95
	steady := t.Varies < 0.5 && p.ActiveShare > 0.5
	if pure {
		score += 3
	}
	if pure && steady {
		score += 5
	}
	reason := fmt.Sprintf("a single steady line: crest factor %.1f dB (a sine has 3.0), level within %.1f dB", float64(p.CrestDB), t.Varies)
	sine := math.Abs(float64(p.CrestDB)-3.01) < 0.2 // of the whole file: any start, end or change of level moves it
	if !pure && sine && t.Breadth <= 4 && p.ActiveShare > 0.9 {
		score += 4.5
		reason = fmt.Sprintf("one line whose pitch moves and whose level does not: crest factor %.1f dB (a sine has 3.0)", float64(p.CrestDB))
	}
	switch {
	case named == Tone && (pure || steady):
		score += 5
	case named == Tone:
		score += 3
	case s.Names && s.Hints[i].Known() > 0.5:
		score -= 3
	}
	return Finding{Kind: Tone, Certainty: 0.99 * odds(score), Reason: reason}
}

// still tells whether a track is broad and never changes, neither over half seconds nor within them: a hat on every
// eighth is as even as noise, but has onsets and a higher crest factor (Gaussian noise has 12 to 15 dB over minutes).
func (s *search) still(i int) bool {
	p, t := &s.Tracks[i].Profile, s.look.Textures[i]
	even := t.Breadth >= 10 && t.Steady < 1.2 && t.Varies < 0.8 && p.Tonality < 0.9
	return even && float64(p.CrestDB) < 16 && p.OnsetRateHz < 0.5 && p.ActiveShare > 0.9
}

// frozen tells whether nothing in a track moves, as in hum: strings, voices and hands move by more than half a dB in ten seconds.
func (s *search) frozen(i int) bool {
	p, t := &s.Tracks[i].Profile, s.look.Textures[i]
	return p.DurationS >= 10 && p.ActiveShare > 0.9 && t.Steady < 0.8 && t.Varies < 0.3 && p.OnsetRateHz < 0.2
}

// bursts tells whether a track is noise that is switched on and off: while it is on it is as broad and even as in still.
func (s *search) bursts(i int) bool {
	p, t := &s.Tracks[i].Profile, s.look.Textures[i]
	return t.Breadth >= 16 && t.Held < 1.2 && p.Flatness > 0.1 && p.Tonality < 0.9 && float64(p.CrestDB) < 16 && p.OnsetRateHz < 1.5
}

// noise finds what never changes: noise, room tone; asked about are hum and bursts of noise.
func (s *search) noise(i int, named Kind) Finding {
	p, t := &s.Tracks[i].Profile, s.look.Textures[i]
	score := -4.0
	still := s.still(i)
	reason := fmt.Sprintf("steady noise: %.0f bands at once, none moves by more than %.1f dB", t.Breadth, t.Steady)
	switch {
	case still:
		score += 6
	case s.frozen(i):
		score += 4.7
		reason = fmt.Sprintf("hum or a tone: from end to end its level moves by no more than %.1f dB", t.Varies)
	case s.bursts(i):
		score += 4.5
		reason = fmt.Sprintf("noise in bursts: %.0f bands at once, none moves by more than %.1f dB while it is on", t.Breadth, t.Held)
	}
	switch {
	case named == Noise && (still || float64(p.IntegratedLUFS) < -45):
		score += 5
	case named == Noise && strings.Contains(strings.ToLower(p.File), "room"):
		score += 2.5
	case s.Names && s.Hints[i].Known() > 0.5:
		score -= 3
	}
	return Finding{Kind: Noise, Certainty: 0.99 * odds(score), Reason: reason}
}
