package homes

import (
	"math"
)

// tally adds up what samples of the homes say.
type tally struct {
	samples float64
	logp    float64 // sum over the samples of the log probability of homes and placement
	sums    [][]Verdict
}

func newTally(h *Model) *tally {
	t := &tally{sums: make([][]Verdict, len(h.units))}
	for u := range t.sums {
		t.sums[u] = make([]Verdict, len(h.units[u].On))
		for m := range t.sums[u] {
			t.sums[u][m].Belong = make([]float64, h.pairs)
		}
	}
	return t
}

func (t *tally) add(o *tally) { t.addWeighted(o, 1) }

// addWeighted adds samples that count weight times.
func (t *tally) addWeighted(o *tally, weight float64) {
	t.samples += weight * o.samples
	t.logp += weight * o.logp
	for u := range t.sums {
		for m := range t.sums[u] {
			t.sums[u][m].Stray += weight * o.sums[u][m].Stray
			for q, v := range o.sums[u][m].Belong {
				t.sums[u][m].Belong[q] += weight * v
			}
		}
	}
}

// verdicts are the means over the samples.
func (t *tally) verdicts() [][]Verdict {
	for u := range t.sums {
		for m := range t.sums[u] {
			v := &t.sums[u][m]
			v.Stray /= t.samples
			for q := range v.Belong {
				v.Belong[q] /= t.samples
			}
		}
	}
	return t.sums
}

// count adds what the present homes say of every track, and returns the expected number of strays and of tracks that
// belong somewhere.
func (h *Model) count(t *tally) (strays, tracks float64) {
	t.samples++
	t.logp += h.prior()
	parts := make([]float64, len(h.roles))
	for i := range h.units {
		u := &h.units[i]
		total := h.freePart(u)
		for k, r := range h.roles {
			parts[k] = 0
			if u.Belief[r] >= leastBelief {
				parts[k] = h.part(u, r)
			}
			total += parts[k]
		}
		if total <= 0 {
			continue // no role of this track is common enough to be sampled
		}
		t.logp += math.Log(total)
		tracks += (1 - h.freePart(u)/total) * float64(len(u.On))
		for m, q := range u.On {
			v := &t.sums[i][m]
			for k, r := range h.roles {
				if h.lives(r, q) {
					continue // a stray that happens to stand at home is at home
				}
				astray := parts[k] / total
				v.Stray += astray
				strays += astray
				if a := h.at[r]; a[1] < 0 {
					v.Belong[a[0]] += astray
				} else {
					v.Belong[a[0]] += astray / 2
					v.Belong[a[1]] += astray / 2
				}
			}
		}
	}
	return strays, tracks
}
