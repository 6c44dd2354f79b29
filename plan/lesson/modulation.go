package lesson

import (
	"math"
	"slices"

	"foldout/plan/channel"
)

// Frames of the analysis, in seconds.
const (
	slowFrameS = 0.05 // of the gain: three periods of a kick
	fastFrameS = 0.1  // of the roughness: two periods of the lowest note
	loudFrameS = 0.3  // of loud passages, as long as a VU meter takes
)

const (
	loudQuantile   = 0.95 // loud passages: the highest twentieth
	soundsWithinDB = 30.0 // a track sounds where it is within this of its own loud passages
	leastFrames    = 10   // a track that sounds in fewer is not judged
)

// HeardFrom is the modulation index from which a steady modulation is heard, about 5 %; HeardFromDB is the same as the
// distance from trough to peak, 20 log10 of 1.05/0.95.
const (
	HeardFrom   = 0.05
	HeardFromDB = 0.869
)

// Modulated says what a track's neighbours do to its level.
type Modulated struct {
	Sounds  bool    // long enough to be judged
	SwingDB float64 // between the moments at which the neighbours take most and least, 5 % of the time each left out
	Fast    float64 // modulation index by the neighbours' low notes, exceeded 5 % of the time
}

// Gains are the factors that bring each pair to the operating level and so many decibels beyond: its loud passages then
// have the power of a sine of amplitude 1. A silent or free pair has 0.
func (e *Excerpt) Gains(pair []int, pairs int, driveDB float64) []float64 {
	out := make([]float64, pairs)
	frame := max(1, int(loudFrameS*float64(e.RateHz)))
	for q := range out {
		power := powers(e.sum(pair, q), frame)
		if loud := quantile(power, loudQuantile); loud > 0 {
			out[q] = math.Sqrt(0.5/loud) * math.Pow(10, driveDB/20)
		}
	}
	return out
}

// sum is the sum of the tracks on a pair.
func (e *Excerpt) sum(pair []int, q int) []float64 {
	out := make([]float64, e.frames())
	for t, p := range pair {
		if p == q {
			for i, v := range e.x[t] {
				out[i] += float64(v)
			}
		}
	}
	return out
}

func (e *Excerpt) frames() int {
	n := 0
	for _, x := range e.x {
		n = max(n, len(x))
	}
	return n
}

// Modulation computes for every track what its neighbours do to it if the tracks lie on the given pairs and every pair
// passes the channel at the operating level plus driveDB.
func (e *Excerpt) Modulation(pair []int, pairs int, c channel.Channel, driveDB float64) []Modulated {
	out := make([]Modulated, len(e.x))
	gains := e.Gains(pair, pairs, driveDB)
	for q, gain := range gains {
		if gain == 0 {
			continue
		}
		sum := e.sum(pair, q)
		var low []float64
		for t, p := range pair {
			if p == q {
				low = add(low, e.low[t])
			}
		}
		for t, p := range pair {
			if p == q {
				out[t] = e.modulated(t, sum, low, gain, c)
			}
		}
	}
	return out
}

// modulated judges one track beside the rest of its pair.
func (e *Excerpt) modulated(t int, sum, low []float64, gain float64, c channel.Channel) Modulated {
	frame := max(1, int(slowFrameS*float64(e.RateHz)))
	own := make([]float64, 0, len(sum)/frame+1)
	rest := make([]float64, 0, len(sum)/frame+1)
	for from := 0; from+frame <= len(sum); from += frame {
		var p, z float64
		for i := from; i < from+frame; i++ {
			var v float64
			if i < len(e.x[t]) {
				v = float64(e.x[t][i])
			}
			p += v * v
			z += (sum[i] - v) * (sum[i] - v)
		}
		own, rest = append(own, p/float64(frame)), append(rest, gain*gain*z/float64(frame))
	}
	floor := quantile(own, loudQuantile) * math.Pow(10, -soundsWithinDB/10)
	sounds := func(k int) bool { return own[k] > floor }
	var levels []float64
	for k := range own {
		if sounds(k) {
			levels = append(levels, decibels(slow(c, rest[k])))
		}
	}
	if floor <= 0 || len(levels) < leastFrames {
		return Modulated{}
	}
	m := Modulated{Sounds: true, SwingDB: quantile(levels, loudQuantile) - quantile(levels, 1-loudQuantile)}
	hop := int(fastFrameS * lowRateHz)
	per := int(fastFrameS / slowFrameS)
	var fast []float64
	for k := 0; (k+1)*hop <= len(low) && (k+1)*per <= len(own); k++ {
		if !slices.ContainsFunc([]int{k * per, k*per + per/2}, sounds) {
			continue
		}
		var l, all float64
		for i := k * hop; i < (k+1)*hop; i++ {
			var v float64
			if i < len(e.low[t]) {
				v = e.low[t][i]
			}
			l += (low[i] - v) * (low[i] - v)
		}
		for _, p := range rest[k*per : (k+1)*per] {
			all += p / float64(per)
		}
		fast = append(fast, index(c, gain*gain*l/float64(hop), all))
	}
	m.Fast = quantile(fast, loudQuantile)
	return m
}

// slow is the gain of a soft track beside neighbours of power p: 1 + 3 a3 p, which for a sine of amplitude A is
// 1 + 1.5 a3 A^2. The polynomial is a stand-in for a soft channel while the gain stays above a half; it is held there.
func slow(c channel.Channel, p float64) float64 { return math.Max(0.5, 1+3*c.A3*p) }

// index is the modulation index of a soft track by neighbours with power l in their low notes and p in all: for a sine of
// amplitude A 2 a2 A at its own rate, four times its second harmonic, and 1.5 a3 A^2 at twice its rate, about six times
// its third; both by root of sum of squares, re the gain.
func index(c channel.Channel, l, p float64) float64 {
	return math.Hypot(2*c.A2*math.Sqrt(2*l), 3*c.A3*l) / slow(c, p)
}

func decibels(amplitude float64) float64 { return 20 * math.Log10(amplitude) }

func add(to, x []float64) []float64 {
	for i, v := range x {
		if i == len(to) {
			to = append(to, 0)
		}
		to[i] += v
	}
	return to
}

// powers are the mean squares of whole frames.
func powers(x []float64, frame int) (out []float64) {
	for from := 0; from+frame <= len(x); from += frame {
		var p float64
		for _, v := range x[from : from+frame] {
			p += v * v
		}
		out = append(out, p/float64(frame))
	}
	return out
}

// quantile of values in any order, 0 for none.
func quantile(v []float64, q float64) float64 {
	if len(v) == 0 {
		return 0
	}
	s := slices.Sorted(slices.Values(v))
	return s[min(len(s)-1, int(q*float64(len(s))))]
}
