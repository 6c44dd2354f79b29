package mixture

import (
	"slices"

	"foldout/features/cores"
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
	for t := range g.explained(live, live) {
		likely[t] = true
	}
	var plain, sums []int
	for _, t := range live {
		if likely[t] {
			sums = append(sums, t)
		} else {
			plain = append(plain, t)
		}
	}
	return g.explained(sums, plain)
}

// explained finds which of the tracks in those are sums of tracks in from.
func (g *Grid) explained(those, from []int) map[int]Explained {
	found := make([]Explained, len(those))
	each(len(those), func(i int) {
		t := those[i]
		if !g.broad(t) {
			return
		}
		if first := g.explain(t, from, 700, 2); first.ErrorDB <= firstErrorDB {
			found[i] = g.Explain(t, first.tracks())
		}
	})
	sums := map[int]Explained{}
	for i, e := range found {
		if e.sum() {
			sums[those[i]] = e
		}
	}
	return sums
}

// each calls do(i) for every i < n from several goroutines.
func each(n int, do func(i int)) { cores.Each(cores.Most(), n, func(_, i int) { do(i) }) }

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
	s := &Survey{Loose: map[int]float64{}, Textures: make([]Texture, len(sketches)), Pulses: make([]Pulse, len(sketches))}
	var live []int
	for i := range sketches {
		if !sketches[i].Silent() && sketches[i].Frames() > 0 {
			live = append(live, i)
		}
	}
	each(len(live), func(n int) {
		i := live[n]
		s.Textures[i], s.Pulses[i] = g.Texture(i), PulseOf(&sketches[i])
	})
	s.Sums = g.Sums(live)
	var full []int
	for _, i := range live {
		if _, sum := s.Sums[i]; !sum && s.Textures[i].Breadth >= 19 && s.Textures[i].Sounding > 0.5 {
			full = append(full, i)
		}
	}
	loose := make([]float64, len(full))
	each(len(full), func(n int) {
		first := g.explain(full[n], live, 700, 2)
		loose[n] = g.Explain(full[n], first.tracks()).ErrorDB
	})
	for n, i := range full {
		s.Loose[i] = loose[n]
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
