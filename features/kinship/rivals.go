package kinship

import "math"

// Two tracks may share a sound only because a third feeds both: a far microphone and the reverberation of what it hears, the two
// microphones of a drum and its plate. Where several tracks could have fed one, the explanations compete.

// rival is what the other tracks say against one being the source of another.
type rival struct {
	beyond    float64 // the share of the coherence of the two that stays when the strongest rival is taken out of both, 0..1; 1 without rivals
	coherence float64 // the best coherence of a rival with the derived track over that of the source, 0..3
	share     float64 // likewise of the share of the derived track's power, 0..3
	through   float64 // how strongly a track that the source hears late is heard in the derived one, 0..1
	heard     float64 // how much of the source's power is a late image of other tracks, 0..2: high for far microphones
}

const (
	rivalLeast = 0.02   // coherence with the source from which another track is a rival
	heardLate  = 0.3e-3 // seconds: 10 cm of air
	heardRoom  = 60e-3  // and 20 m
	rivalMost  = 3
)

// rivalsOf looks at the pairs that share a track. The key is {source, derived}; pairs without rivals are absent but for
// beyond, which is 1.
func rivalsOf(pairs []Pair, third []*cross) map[[2]int]rival {
	at := map[[2]int]int{}
	partners := map[int][]int{}
	for i := range pairs {
		p := &pairs[i]
		at[[2]int{p.A, p.B}] = i
		if p.Coherence >= rivalLeast {
			partners[p.A] = append(partners[p.A], i)
			partners[p.B] = append(partners[p.B], i)
		}
	}
	out := map[[2]int]rival{}
	for i := range pairs {
		p := &pairs[i]
		for _, source := range []int{p.A, p.B} {
			out[[2]int{source, p.other(source)}] = rivalsFor(i, source, pairs, third, at, partners)
		}
	}
	return out
}

func rivalsFor(i, source int, pairs []Pair, third []*cross, at map[[2]int]int, partners map[int][]int) rival {
	p := &pairs[i]
	derived := p.other(source)
	out := rival{beyond: 1}
	share := p.seen(source).total
	for _, j := range partners[source] {
		if j == i {
			continue
		}
		q := &pairs[j] // of the source and another
		other := q.other(source)
		late := q.seen(other) // the other's image in the source
		heard := late.lag > heardLate && late.lag < heardRoom
		if heard && q.Prominence > 6 {
			out.heard = min(out.heard+late.total, 2)
		}
		k, ok := at[[2]int{min(other, derived), max(other, derived)}]
		if !ok {
			continue
		}
		r := &pairs[k] // of the other and the derived
		out.coherence = max(out.coherence, min(r.Coherence/max(p.Coherence, 0.01), rivalMost))
		out.share = max(out.share, min(r.seen(other).total/max(share, noise), rivalMost))
		if heard && q.Prominence > 6 {
			out.through = max(out.through, math.Sqrt(max(q.Coherence*r.Coherence, 0)))
		}
		if third[j].lags[0] == 0 && third[i].lags[0] == third[k].lags[0]*sameWay(third[i], third[k], derived) {
			out.beyond = min(out.beyond, partial(third[i], third[j], third[k], source, other, derived))
		}
	}
	return out
}

// sameWay is 1 if the derived track stands on the same side of both pairs, else -1: their lags then have opposite signs.
func sameWay(a, b *cross, derived int) int {
	if (a.x == derived) == (b.x == derived) {
		return 1
	}
	return -1
}

// partial is the partial coherence of source and derived with another track held fixed, over the plain one, both weighted by the
// power of the bins (Bendat and Piersol, Random Data, section on conditioned spectra); 0..1.
func partial(sd, so, od *cross, source, other, derived int) float64 {
	var kept, whole float64
	for bin := range sd.xx {
		s, d, o := power1(sd, source, bin), power1(sd, derived, bin), power1(so, other, bin)
		if !(s > 0) || !(d > 0) || !(o > 0) {
			continue
		}
		ar, ai := towards(sd, source, bin, math.Sqrt(s*d))
		br, bi := towards(so, source, bin, math.Sqrt(s*o)) // from source to other
		cr, ci := towards(od, other, bin, math.Sqrt(o*d))
		w := math.Sqrt(s * d)
		bb, cc := br*br+bi*bi, cr*cr+ci*ci
		re, im := ar-(br*cr-bi*ci), ai-(br*ci+bi*cr)
		whole += w * (ar*ar + ai*ai)
		if rest := (1 - bb) * (1 - cc); rest > 1e-3 {
			kept += w * min((re*re+im*im)/rest, 1)
		}
	}
	if !(whole > 0) {
		return 1
	}
	return min(kept/whole, 1)
}

func power1(c *cross, track, bin int) float64 {
	if c.x == track {
		return c.xx[bin]
	}
	return c.yy[bin]
}

// towards is the cross spectrum from track to the other of its pair, over scale.
func towards(c *cross, track, bin int, scale float64) (re, im float64) {
	re, im, _ = c.at(0, bin)
	if c.x != track {
		im = -im
	}
	return re / scale, im / scale
}
