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

// A view is what others say of one track: a first look at fewer cells and, where that fits, a whole one.
type view struct {
	looked, wholly bool
	first, whole   Explained
}

// sum tells whether the track is a sum of the others.
func (v *view) sum() bool { return v.wholly && v.whole.sum() }

// sums finds the tracks among live that are sums of others. Sums are explained by tracks that are none: a print is not
// "the mix and nothing else". by holds what all others say of each.
func (g *Grid) sums(live []int, by []view) map[int]Explained {
	var plain, likely []int
	for n, t := range live {
		if by[n].sum() {
			likely = append(likely, t)
		} else {
			plain = append(plain, t)
		}
	}
	sums := map[int]Explained{}
	for n, v := range g.views(likely, plain) {
		if v.sum() {
			sums[likely[n]] = v.whole
		}
	}
	return sums
}

// views asks the tracks in from what they say of each of those that fill the spectrum.
func (g *Grid) views(those, from []int) []view {
	seen, fitters := make([]view, len(those)), make([]fitter, cores.Most())
	cores.Each(len(fitters), len(those), func(worker, i int) {
		if t, w, v := those[i], &fitters[worker], &seen[i]; g.broad(t) {
			v.looked, v.first = true, g.explain(w, t, from, firstCells, firstRounds)
			if v.first.ErrorDB <= firstErrorDB {
				v.wholly, v.whole = true, g.explain(w, t, v.first.tracks(), cellsSeen, roundsMade)
			}
		}
	})
	return seen
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
	s := &Survey{Loose: map[int]float64{}, Textures: make([]Texture, len(sketches)), Pulses: make([]Pulse, len(sketches))}
	var live []int
	for i := range sketches {
		if !sketches[i].Silent() && sketches[i].Frames() > 0 {
			live = append(live, i)
		}
	}
	cores.Each(cores.Most(), len(live), func(_, n int) {
		i := live[n]
		s.Textures[i], s.Pulses[i] = g.Texture(i), PulseOf(&sketches[i])
	})
	by := g.views(live, live)
	s.Sums = g.sums(live, by)
	var full []int // positions in live
	for n, i := range live {
		if _, sum := s.Sums[i]; !sum && by[n].looked && s.Textures[i].Breadth >= 16 && s.Textures[i].Sounding > 0.5 {
			full = append(full, n)
		}
	}
	loose, fitters := make([]float64, len(full)), make([]fitter, cores.Most())
	cores.Each(len(fitters), len(full), func(worker, k int) {
		v := &by[full[k]]
		if !v.wholly {
			v.whole = g.explain(&fitters[worker], live[full[k]], v.first.tracks(), cellsSeen, roundsMade)
		}
		loose[k] = v.whole.ErrorDB
	})
	for k, n := range full {
		s.Loose[live[n]] = loose[k]
	}
	s.addUp(sketches, live)
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
