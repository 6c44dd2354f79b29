package trace

import (
	"math"
	"slices"

	"foldout/features/align"
	"foldout/plan/linecheck/tones"
)

// place is where a sync signal may begin in the recording.
type place struct {
	at     float64 // seconds
	score  float64 // mean share of chirp where chirps should be
	stands float64 // how far the score stands over those elsewhere, in their usual spread
}

// Chirps are looked for within this many milliseconds around where the pattern has them: half a thousandth of drift
// over the pattern, and delays between outputs.
const slack = 4

// Two places are two if so many milliseconds apart.
const apart = 200

// inTurn is how well the two chirps of each output fit a sync signal that begins at an event, each output late or early as
// far as chirps are looked for: the mean over the outputs of the lesser of the two. Where outputs come back at times of their
// own, few of them fit the pattern as it stands, and it may seem to lie elsewhere; this tells.
func (e *chirpEvents) inTurn(s tones.Sync, events []float32, at int) float64 {
	const reach = int(chirpReach * eventsPerSecond)
	sum := 0.0
	for _, times := range s.At {
		best := float32(0)
		for d := -reach; d <= reach; d++ {
			least := float32(1)
			for _, t := range times {
				k := at + d + int(math.Round((t-s.Span.Start)*e.perSecond))
				if k < 0 || k >= len(events) {
					least = 0
					break
				}
				least = min(least, events[k])
			}
			best = max(best, least)
		}
		sum += float64(best)
	}
	return sum / float64(len(s.At))
}

// search finds the best places of a sync signal from second lo to hi, at most count, best first.
func (e *chirpEvents) search(s tones.Sync, lo, hi float64, count int) []place {
	events := e.rising
	if !s.Rising {
		events = e.falling
	}
	wide := slidingMax(events, slack)
	var offsets []int
	for _, at := range s.At {
		for _, t := range at {
			offsets = append(offsets, int(math.Round((t-s.Span.Start)*e.perSecond)))
		}
	}
	length := int(s.Span.Seconds * e.perSecond)
	first, last := int(math.Floor(lo*e.perSecond)), int(math.Ceil(hi*e.perSecond))
	first, last = max(first, -length), min(last, len(events))
	if first >= last {
		return nil
	}
	score := make([]float64, last-first)
	for i := range score {
		for _, o := range offsets {
			if k := first + i + o; k >= 0 && k < len(wide) {
				score[i] += float64(wide[k])
			}
		}
		score[i] /= float64(len(offsets))
	}
	usual := align.Median(sparse(score))
	spread := make([]float64, len(score))
	for i, v := range score {
		spread[i] = math.Abs(v - usual)
	}
	sigma := 1.4826*align.Median(sparse(spread)) + 1e-9
	var found []place
	for len(found) < count {
		best := 0
		for i, v := range score {
			if v > score[best] {
				best = i
			}
		}
		if score[best] <= 0 {
			break
		}
		from, to := max(0, best-apart), min(len(score), best+apart)
		at, most := best, score[best]+e.inTurn(s, wide, first+best)
		fit := make([]float64, to-from)
		for i := from; i < to; i++ {
			if score[i] >= score[best]/2 {
				fit[i-from] = score[i] + e.inTurn(s, wide, first+i)
				most = max(most, fit[i-from])
			}
		}
		for i, v := range fit { // of places as good, the first: so both sync signals choose by the same output
			if v > 0.8*most {
				for at = from + i; at+1 < to && score[at+1] > score[at]; at++ {
				}
				break
			}
		}
		found = append(found, place{at: float64(first+at) / e.perSecond, score: score[best], stands: (score[best] - usual) / sigma})
		for i := from; i < to; i++ {
			score[i] = 0
		}
	}
	return found
}

// sparse takes every so many-th value where there are many, for a median that costs little.
func sparse(x []float64) []float64 {
	step := len(x)/20000 + 1
	var out []float64
	for i := 0; i < len(x); i += step {
		out = append(out, x[i])
	}
	return out
}

func slidingMax(x []float32, reach int) []float32 {
	out := slices.Clone(x)
	for d := 1; d <= reach; d++ {
		for i := range x {
			if i+d < len(x) {
				out[i] = max(out[i], x[i+d])
			}
			if i-d >= 0 {
				out[i] = max(out[i], x[i-d])
			}
		}
	}
	return out
}

// A sync signal is believed where it stands this far over the rest, and this share of it is chirp. The share is that of
// one output of 16 alive, 12 dB under the noise, or of all 17 dB under it.
const (
	believedStands = 9
	believedScore  = 0.004
)

func (p place) believed() bool { return p.stands > believedStands && p.score > believedScore }

// syncs are the sync signals of one take. Either may be missing.
type syncs struct {
	first, last *place
}

// maxPPM is the drift that is looked for.
const maxPPM = 600

// findSyncs finds the take: a first sync with a last one at the right distance if there is one, else the better of them.
func (e *chirpEvents) findSyncs(g *tones.Program) syncs {
	length := float64(len(e.rising)) / e.perSecond
	gap := g.Last.Span.Start - g.First.Span.Start
	whole := syncs{}
	best := 0.0
	firsts := e.search(g.First, -g.First.Span.Seconds, length, 6)
	for _, p := range firsts {
		if !p.believed() {
			continue
		}
		off := gap*maxPPM*1e-6 + 0.01
		lasts := e.search(g.Last, p.at+gap-off-1, p.at+gap+off+1, 3)
		for _, q := range lasts {
			if math.Abs(q.at-p.at-gap) <= off && q.score > believedScore && q.stands > believedStands && p.score+q.score > best {
				best, whole = p.score+q.score, syncs{&p, &q}
			}
		}
	}
	if whole.first != nil {
		return whole
	}
	lasts := e.search(g.Last, -g.Last.Span.Seconds, length, 1)
	var one syncs
	if len(firsts) > 0 && firsts[0].believed() {
		one.first = &firsts[0]
	}
	if len(lasts) > 0 && lasts[0].believed() && one.first == nil {
		return syncs{last: &lasts[0]}
	}
	if one.first != nil && len(lasts) > 0 && lasts[0].believed() && lasts[0].at > one.first.at+g.First.Span.Seconds {
		one.last = &lasts[0] // both are there, but not as far apart as they were played: the clock will look into it
	}
	return one
}
