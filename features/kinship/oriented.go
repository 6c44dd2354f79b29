package kinship

// oriented is a pair seen from a possible derived track towards its source.
type oriented struct {
	pair        *Pair
	from, to    int     // source, derived
	total       float64 // share of the derived track's power that is an image of the source
	before, now float64 // parts of it at negative lags, at lag 0
	after, late float64 // at lags from 1, from 2 half windows on; late is a fraction of total
	lag         float64 // derived after source
}

// noise is the share at one lag below which nothing is said.
const noise = 0.015

func (p *Pair) other(track int) int { return p.A + p.B - track }

func (p *Pair) seen(from int) oriented {
	o := oriented{pair: p, from: p.A, to: p.B, lag: p.LagSeconds}
	shares := &p.BFromA
	if from == p.B {
		o.from, o.to, o.lag = p.B, p.A, -p.LagSeconds
		shares = &p.AFromB
	}
	for l := range shares {
		// AFromB at index l is A from B when B comes l-8 half windows after A.
		v := shares[l]
		if v < noise {
			continue
		}
		at := l - zeroLag
		if from == p.B {
			at = -at
		}
		switch {
		case at < 0:
			o.before += v
		case at == 0:
			o.now += v
		default:
			o.after += v
			if at > 1 {
				o.late += v
			}
		}
	}
	if all := o.before + o.now + o.after; all > 0 {
		o.late /= all
	}
	o.total = min(o.before+o.now+o.after, 1)
	return o
}

// tail is the lopsidedness of the image in time: 0 for a copy, towards 1 for echoes and reverberation.
func (o oriented) tail() float64 {
	all := o.before + o.now + o.after
	if !(all > 0) {
		return 0
	}
	return (o.after - o.before) / all
}

// follows tells how well the derived track's envelope runs along with the source's.
func (o oriented) follows() float64 {
	if o.from == o.pair.A {
		return o.pair.FollowsA
	}
	return o.pair.FollowsB
}
