package kinship

import (
	"cmp"
	"math"
	"slices"
)

// Weight is the part one track has in another.
type Weight struct {
	Track     int
	Share     float64 // of the magnitude summed over time and bands; the shares of one track's sources add up to 1 at most
	Coherence float64 // of the waveforms, see Relation
}

const (
	solveRounds = 200
	leastWeight = 0.01
)

// Sources explains track i as a sum of other tracks, each given an exponential tail: which tracks feed a bus, an
// effect return or a room microphone, and with which shares. The band magnitudes of the envelope are fitted by
// non-negative least squares, band by band, with one reverberation time for all (the best of 0 to 3 s). Only tracks
// whose waveform is found in i take part: its members if it is a sum, its sources if it is a return, otherwise all that share sound
// with it. Ordered by share; empty for a track that shares sound with none.
func (c *Comparison) Sources(i int) []Weight {
	feeds := c.feeds(i)
	if len(feeds) == 0 {
		return nil
	}
	self := &c.sketches[i]
	var best []float64
	least := math.Inf(1)
	for _, t60 := range decays {
		shares, residual := c.fit(self, feeds, t60)
		if residual < least {
			best, least = shares, residual
		}
	}
	var out []Weight
	for k, f := range feeds {
		if best != nil && best[k] >= leastWeight {
			out = append(out, Weight{Track: f.B, Share: best[k], Coherence: f.Coherence})
		}
	}
	slices.SortStableFunc(out, func(x, y Weight) int { return cmp.Compare(y.Share, x.Share) })
	return out
}

// feeds lists the tracks that can be heard in track i, as relations with A = i.
func (c *Comparison) feeds(i int) []Relation {
	byKind := map[Kind][]Relation{}
	for _, r := range c.Relations() {
		if r.A != i && r.B != i || r.Kind == Double {
			continue
		}
		directed := r.Kind == PartOfSum || r.Kind == Return
		if r.A != i {
			if directed {
				continue // i feeds the other
			}
			r.A, r.B = r.B, r.A
		}
		kind := r.Kind
		if !directed {
			kind = Bleed
		}
		byKind[kind] = append(byKind[kind], r)
	}
	for _, kind := range []Kind{PartOfSum, Return, Bleed} {
		if len(byKind[kind]) > 0 {
			return byKind[kind]
		}
	}
	return nil
}

// fit solves for the weights at one reverberation time. The residual is the squared error over the squared sum, 0..1.
func (c *Comparison) fit(self *Sketch, feeds []Relation, t60 float64) (shares []float64, residual float64) {
	if !(self.HopSeconds > 0) || self.Frames() == 0 {
		return nil, math.Inf(1)
	}
	n := self.Frames()
	inputs := make([][]uint8, len(feeds))
	for k, f := range feeds {
		other := &c.sketches[f.B]
		if !(other.HopSeconds > 0) || other.Frames() == 0 {
			return nil, math.Inf(1)
		}
		inputs[k] = make([]uint8, n*bands)
		smear(inputs[k], other.padded(self.StartSeconds, self.HopSeconds, n), self.HopSeconds, t60)
	}
	shares = make([]float64, len(feeds))
	var squares, errors, whole, modelled float64
	x := make([][]float64, len(feeds))
	for k := range x {
		x[k] = make([]float64, n)
	}
	y := make([]float64, n)
	for b := range bands {
		for f := range n {
			y[f] = magnitude[self.Envelope[f*bands+b]]
			whole += y[f]
			for k := range x {
				x[k][f] = magnitude[inputs[k][f*bands+b]]
			}
		}
		w := nonNegative(x, y)
		for f := range n {
			e := y[f]
			for k, v := range w {
				e -= v * x[k][f]
				shares[k] += v * x[k][f]
				modelled += v * x[k][f]
			}
			squares += y[f] * y[f]
			errors += e * e
		}
	}
	if !(squares > 0) {
		return nil, math.Inf(1)
	}
	for k := range shares {
		shares[k] /= max(whole, modelled)
	}
	return shares, errors / squares
}

// nonNegative minimises |y - sum w_k x_k|^2 over w >= 0 by coordinate descent (Franc, Hlavac and Navara, Sequential
// coordinate-wise algorithm for the non-negative least squares problem, CAIP 2005).
func nonNegative(x [][]float64, y []float64) []float64 {
	m := len(x)
	gram := make([]float64, m*m)
	slope := make([]float64, m)
	for i := range m {
		for j := i; j < m; j++ {
			gram[i*m+j] = dot(x[i], x[j])
			gram[j*m+i] = gram[i*m+j]
		}
		slope[i] = -dot(x[i], y)
	}
	w := make([]float64, m)
	for range solveRounds {
		moved := 0.0
		for i := range m {
			d := gram[i*m+i]
			if !(d > 0) {
				continue
			}
			next := max(0, w[i]-slope[i]/d)
			step := next - w[i]
			if step == 0 {
				continue
			}
			w[i] = next
			for j := range m {
				slope[j] += step * gram[i*m+j]
			}
			moved = max(moved, math.Abs(step)*math.Sqrt(d))
		}
		if moved*moved <= 1e-12*dot(y, y) {
			break
		}
	}
	return w
}

func dot(x, y []float64) float64 {
	var s float64
	for i, v := range x {
		s += v * y[i]
	}
	return s
}

// magnitude is the square root of the power each envelope code stands for.
var magnitude = func() (t [256]float64) {
	for c, p := range decoded {
		t[c] = math.Sqrt(p)
	}
	return t
}()
