package kinship

import (
	"math"

	"gonum.org/v1/gonum/mat"
)

// Affinity returns the n x n matrix of how strongly two tracks belong to one source of sound, 0..1, 1 on the diagonal:
// ties give 0.7 to 1 with their confidence, doubles 0.3 to 0.6, and shared sound the square root of the larger share
// either has in the other, so that microphones of one kit are near each other even where they hear little. On top of
// that, tracks of like timbre that sound at the same moments come up to 0.2 nearer. It is meant for letting
// neighbours share a belief about their role, not for tying tracks. It returns nil for no tracks.
func (c *Comparison) Affinity() *mat.SymDense {
	n := len(c.sketches)
	if n == 0 {
		return nil
	}
	a := mat.NewSymDense(n, nil)
	for i := range n {
		a.SetSym(i, i, 1)
	}
	parallel(maxWorkers(), n, func(_, i int) {
		for j := i + 1; j < n; j++ {
			if steady := c.outlines[i].together(&c.outlines[j]); steady > 0 {
				a.SetSym(i, j, 0.2*steady*math.Exp(-c.outlines[i].profile(&c.outlines[j])/4))
			}
		}
	})
	near := func(i, j int, v float64) { a.SetSym(i, j, 1-(1-a.At(i, j))*(1-min(max(v, 0), 1))) }
	for i := range c.pairs {
		if p := &c.pairs[i]; p.akin() {
			near(p.A, p.B, 0.9*math.Sqrt(max(p.seen(p.A).total, p.seen(p.B).total)))
		}
	}
	for _, r := range c.Relations() {
		switch {
		case r.Kind.Tie():
			near(r.A, r.B, 0.7+0.3*r.Confidence)
		case r.Kind == Double:
			near(r.A, r.B, 0.3+0.3*r.Confidence)
		}
	}
	return a
}
