package mixture

import (
	"slices"

	"foldout/features/kinship"
)

// Bounds of what counts as a sum, chosen on nine rendered sessions with mixes, prints and stems added (their errors: 0.3 to 1.6 dB;
// those of single microphones that hear the whole kit 1.1 dB and more, but of few members).
const (
	mostErrorDB  = 3.2
	firstErrorDB = 5.0 // of a first look at fewer cells
	leastShare   = 0.01
	leastMembers = 3
)

// Sums finds the tracks among live that are sums of others. Sums are explained by tracks that are none: a print is not
// "the mix and nothing else".
func (g *Grid) Sums(live []int) map[int]Explained {
	likely := map[int]bool{}
	for _, t := range live {
		if !g.broad(t) {
			continue
		}
		first := g.explain(t, live, 700, 2)
		if first.ErrorDB > firstErrorDB {
			continue
		}
		if e := g.Explain(t, first.tracks()); e.sum() {
			likely[t] = true
		}
	}
	var plain []int
	for _, t := range live {
		if !likely[t] {
			plain = append(plain, t)
		}
	}
	sums := map[int]Explained{}
	for _, t := range live {
		if likely[t] {
			first := g.explain(t, plain, 700, 2)
			if e := g.Explain(t, first.tracks()); e.sum() {
				sums[t] = e
			}
		}
	}
	return sums
}

// broad tells whether a track fills as many bands as several instruments together do.
func (g *Grid) broad(t int) bool {
	x := g.Texture(t)
	return x.Breadth >= 10 && x.Sounding > 0.3
}

func (e *Explained) sum() bool { return e.ErrorDB < mostErrorDB && e.Count(leastShare) >= leastMembers }

// tracks lists the members.
func (e *Explained) tracks() []int {
	var t []int
	for _, m := range e.Members {
		t = append(t, m.Track)
	}
	slices.Sort(t)
	return t
}

// Survey is what the envelopes of all tracks of a session say of their being sums, and of each by itself.
type Survey struct {
	Textures []Texture
	Pulses   []Pulse
	Sums     map[int]Explained // the tracks that are sums of others
	Loose    map[int]float64   // of tracks that fill the spectrum and are no sums: the error of the best sum, dB
}

// Look surveys all tracks. Those without sound have no part in it.
func Look(sketches []kinship.Sketch) *Survey {
	g := NewGrid(sketches)
	s := &Survey{Loose: map[int]float64{}}
	var live []int
	for i := range sketches {
		var t Texture
		var p Pulse
		if !sketches[i].Silent() && sketches[i].Frames() > 0 {
			live = append(live, i)
			t, p = g.Texture(i), PulseOf(&sketches[i])
		}
		s.Textures, s.Pulses = append(s.Textures, t), append(s.Pulses, p)
	}
	s.Sums = g.Sums(live)
	for _, i := range live {
		if _, sum := s.Sums[i]; !sum && s.Textures[i].Breadth >= 19 && s.Textures[i].Sounding > 0.5 {
			first := g.explain(i, live, 700, 2)
			s.Loose[i] = g.Explain(i, first.tracks()).ErrorDB
		}
	}
	return s
}

// Count is the number of members with at least the given share.
func (e *Explained) Count(share float64) int {
	n := 0
	for _, m := range e.Members {
		if m.Share >= share {
			n++
		}
	}
	return n
}
