// Package mixture finds out whether a track is a sum of other tracks: a mix, a print, a stem, a bus.
//
// In go the sketches of all tracks (package kinship), first of all their envelopes in 24 bands; out comes for each
// track how well a sum of the others explains it, and which. The model: in each band and half second the power of a sum is the
// sum of the powers of its members, each times a constant gain (members are taken as incoherent), times a gain per band (an
// equaliser), times a gain per moment (a limiter or compressor). Gains are found by non-negative least squares on relative
// errors; what is left is given in decibels. Where that fails by little, waveforms are tried (kinship.Mixed): voices in unison are
// not incoherent.
//
// Sources: non-negative least squares by coordinate descent (Franc, Hlavac and Navara 2005); additivity of power for
// incoherent signals is a textbook fact.
package mixture

import (
	"cmp"
	"math"
	"slices"

	"foldout/features/kinship"
)

// Member is a track found in a sum.
type Member struct {
	Track  int
	GainDB float64 // its power in the sum over its power alone
	Share  float64 // of the sum's power, 0..1
}

// Explained says how well the others explain a track.
type Explained struct {
	ErrorDB  float64  // rms of the difference between the track and the sum of its members, over bands and moments; +Inf if nothing fits
	ColourDB float64  // rms over bands of the equaliser assumed
	MovedDB  float64  // rms over moments of the gain assumed
	Members  []Member // those with a gain, the largest share first
}

// The grid on which envelopes are compared.
const (
	stepS     = 0.5 // s
	bands     = 24
	rangeDB   = 50 // cells further below the loudest of their track are left out
	floorDB   = -110.0
	copyDB    = 2.5 // a track that alone explains another so well is a copy of it, not a member
	leastGain = 1e-9
)

// Grid holds the envelopes of all tracks on one raster of time and bands.
type Grid struct {
	power [][]float64 // track x cells, cell = step*bands + band; full scale squared
	steps int

	textures []*Texture // as far as asked for
}

// NewGrid lays the envelopes of all tracks on one raster of half seconds from the earliest start on. A track that starts at zero
// while others carry the time of day carries none: it is taken to start with the first of the others.
func NewGrid(sketches []kinship.Sketch) *Grid {
	const unstamped = 1.0 // s; a time of day is later
	first, last, stamped := math.Inf(1), 0.0, math.Inf(1)
	for i := range sketches {
		if s := &sketches[i]; s.Frames() > 0 && s.StartSeconds > unstamped {
			stamped = min(stamped, s.StartSeconds)
		}
	}
	starts := make([]float64, len(sketches))
	for i := range sketches {
		if s := &sketches[i]; s.Frames() > 0 {
			starts[i] = s.StartSeconds
			if s.StartSeconds <= unstamped && stamped > 600 && !math.IsInf(stamped, 1) {
				starts[i] = stamped
			}
			first = min(first, starts[i])
			last = max(last, starts[i]+float64(s.Frames())*s.HopSeconds)
		}
	}
	g := &Grid{power: make([][]float64, len(sketches)), textures: make([]*Texture, len(sketches))}
	if math.IsInf(first, 1) {
		return g
	}
	g.steps = min(int((last-first)/stepS)+1, 7200)
	for i := range sketches {
		g.power[i] = lay(&sketches[i], starts[i]-first, g.steps)
	}
	return g
}

// lay averages an envelope over each step.
func lay(s *kinship.Sketch, start float64, steps int) []float64 {
	p := make([]float64, steps*bands)
	count := make([]float64, steps)
	for f := range s.Frames() {
		step := int((start + (float64(f)+0.5)*s.HopSeconds) / stepS)
		if step >= steps {
			break
		}
		count[step]++
		for b := range bands {
			if c := s.Envelope[f*bands+b]; c > 0 {
				p[step*bands+b] += levels[c]
			}
		}
	}
	for step, n := range count {
		if n > 0 {
			for b := range bands {
				p[step*bands+b] /= n
			}
		}
	}
	return p
}

// levels are the powers of the codes of an envelope.
var levels = func() (l [256]float64) {
	for c := range l {
		l[c] = math.Pow(10, (float64(c)/2-115)/10)
	}
	return l
}()

// A first look at a track takes fewer cells and rounds than a whole one.
const (
	firstCells, firstRounds = 700, 2
	cellsSeen, roundsMade   = 2500, 4
)

// explain finds how well a sum of the tracks in from explains track target; target itself and its copies are left out.
func (g *Grid) explain(w *fitter, target int, from []int, most, rounds int) Explained {
	cells := g.cells(target, most)
	if len(cells) < 3*bands {
		return Explained{ErrorDB: math.Inf(1)}
	}
	w.picked.used = 0
	y := pick(w.picked.next(len(cells)), g.power[target], cells)
	w.aim(y, cells, g.steps)
	var tracks []int
	var x [][]float64
	for _, t := range from {
		if t == target || g.power[t] == nil {
			continue
		}
		v := pick(w.picked.next(len(cells)), g.power[t], cells)
		if sum(v) < 1e-6*sum(y) || w.copies(v) {
			w.picked.used-- // the row is free again
			continue
		}
		tracks, x = append(tracks, t), append(x, v)
	}
	if len(x) == 0 {
		return Explained{ErrorDB: math.Inf(1)}
	}
	best := w.fit(x, rounds)
	e := Explained{ErrorDB: best.errorDB, ColourDB: best.colourDB, MovedDB: best.movedDB}
	for i, gain := range best.gain {
		if gain > leastGain {
			e.Members = append(e.Members, Member{tracks[i], 10 * math.Log10(gain), best.share[i]})
		}
	}
	slices.SortFunc(e.Members, func(a, b Member) int { return -cmp.Compare(a.Share, b.Share) })
	return e
}

// copies tells whether v alone explains y. What is far from it at a glance is not fitted.
func (w *fitter) copies(v []float64) bool {
	sounds := 0
	for c := range w.y {
		if v[c] > 0 {
			sounds++
		}
	}
	return sounds*10 > len(w.y)*9 && apart(w.y, v, w.cells) < 2*copyDB && w.fit([][]float64{v}, 2).errorDB < copyDB
}

// apart is about the error, in dB, that is left of v when an equaliser and a moving gain of any size bring it next to y, seen at
// every eighth step: the rms of the level differences less their means over each step and band.
func apart(y, v []float64, cells []int) float64 {
	const every, most = 8, 20.0
	var d [bands * 64]float64 // a row for each step seen; 64 steps are plenty
	var heard [bands * 64]bool
	rows, turn, last := 0, -1, -1
	for c, cell := range cells {
		if step := cell / bands; step != last {
			turn, last = turn+1, step
			if turn%every == 0 {
				rows++
			}
			if rows > 64 {
				rows = 64
				break
			}
		}
		if at := (rows-1)*bands + cell%bands; turn%every == 0 && v[c] > 0 {
			d[at], heard[at] = level(y[c]/v[c]), true
		}
	}
	centre := func(first, step, n int) {
		var sum, count float64
		for i := range n {
			if at := first + i*step; heard[at] {
				sum += d[at]
				count++
			}
		}
		for i := range n {
			d[first+i*step] -= sum / max(count, 1)
		}
	}
	for range 2 {
		for r := range rows {
			centre(r*bands, 1, bands)
		}
		for b := range bands {
			centre(b, bands, rows)
		}
	}
	var sum, count float64
	for at := range rows * bands {
		if heard[at] {
			sum += min(d[at]*d[at], most*most)
			count++
		}
	}
	return math.Sqrt(sum / max(count, 1))
}

// level is ten times the decadic logarithm of a positive number, to 0.15 dB: its exponent, and its mantissa for the fraction.
func level(x float64) float64 {
	return (float64(int64(math.Float64bits(x)))/(1<<52) - 1023 + 0.043) * 3.0103
}

// cells lists the cells in which a track is heard, about most of them, whole steps at a time and evenly spread.
func (g *Grid) cells(t, most int) []int {
	var top float64
	for _, p := range g.power[t] {
		top = max(top, p)
	}
	least := max(top*math.Pow(10, -rangeDB/10.0), math.Pow(10, floorDB/10))
	var steps []int
	for s := range g.steps {
		for b := range bands {
			if g.power[t][s*bands+b] > least {
				steps = append(steps, s)
				break
			}
		}
	}
	every := 1 + len(steps)*bands/most
	var cells []int
	for n, s := range steps {
		if n%every == 0 {
			for b := range bands {
				if g.power[t][s*bands+b] > least {
					cells = append(cells, s*bands+b)
				}
			}
		}
	}
	return cells
}

// pick writes to v what p holds in the cells.
func pick(v, p []float64, cells []int) []float64 {
	for i, c := range cells {
		v[i] = p[c]
	}
	return v
}

func sum(v []float64) (s float64) {
	for _, x := range v {
		s += x
	}
	return s
}
