package plan

import "math"

// tally adds up what samples of the homes say.
type tally struct {
	samples float64
	logp    float64 // sum over the samples of the log probability of homes and placement
	sums    [][]verdict
}

func newTally(h *homes) *tally {
	t := &tally{sums: make([][]verdict, len(h.units))}
	for u := range t.sums {
		t.sums[u] = make([]verdict, len(h.units[u].on))
		for m := range t.sums[u] {
			t.sums[u][m].belong = make([]float64, h.pairs)
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
			t.sums[u][m].stray += weight * o.sums[u][m].stray
			for q, v := range o.sums[u][m].belong {
				t.sums[u][m].belong[q] += weight * v
			}
		}
	}
}

// verdicts are the means over the samples.
func (t *tally) verdicts() [][]verdict {
	for u := range t.sums {
		for m := range t.sums[u] {
			v := &t.sums[u][m]
			v.stray /= t.samples
			for q := range v.belong {
				v.belong[q] /= t.samples
			}
		}
	}
	return t.sums
}

// count adds what the present homes say of every track, and returns the expected number of strays and of tracks that
// belong somewhere.
func (h *homes) count(t *tally) (strays, tracks float64) {
	t.samples++
	t.logp += h.prior()
	parts := make([]float64, len(h.roles))
	for i := range h.units {
		u := &h.units[i]
		total := h.freePart(u)
		for k, r := range h.roles {
			parts[k] = 0
			if u.belief[r] >= leastBelief {
				parts[k] = h.part(u, r)
			}
			total += parts[k]
		}
		if total <= 0 {
			continue // no role of this track is common enough to be sampled
		}
		t.logp += math.Log(total)
		tracks += (1 - h.freePart(u)/total) * float64(len(u.on))
		for m, q := range u.on {
			v := &t.sums[i][m]
			for k, r := range h.roles {
				if h.lives(r, q) {
					continue // a stray that happens to stand at home is at home
				}
				astray := parts[k] / total
				v.stray += astray
				strays += astray
				if a := h.at[r]; a[1] < 0 {
					v.belong[a[0]] += astray
				} else {
					v.belong[a[0]] += astray / 2
					v.belong[a[1]] += astray / 2
				}
			}
		}
	}
	return strays, tracks
}
