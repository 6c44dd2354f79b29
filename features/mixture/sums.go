package mixture

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
		if first := g.explain(t, live, 700, 2); first.ErrorDB > firstErrorDB {
			continue
		}
		if e := g.Explain(t, live); e.sum() {
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
			if e := g.Explain(t, plain); e.sum() {
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
