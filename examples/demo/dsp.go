package demo

import (
	"hash/fnv"
	"math"
	"math/rand/v2"
)

// rate is the sample rate of the recording in hertz.
const rate = 48000

// newRand returns random numbers that depend on nothing but the name.
func newRand(name string) *rand.Rand {
	h := fnv.New64a()
	h.Write([]byte(name))
	return rand.New(rand.NewPCG(h.Sum64(), 0x9E3779B97F4A7C15))
}

// between returns a number of the interval [lo, hi).
func between(r *rand.Rand, lo, hi float64) float64 { return lo + (hi-lo)*r.Float64() }

func decibels(db float64) float64 { return math.Pow(10, db/20) }

// noteHz is the equal-tempered frequency of a MIDI note number with A4 = 440 Hz (ISO 16:1975).
func noteHz(note float64) float64 { return 440 * math.Exp2((note-69)/12) }

// samples converts seconds to whole samples.
func samples(seconds float64) int { return int(math.Round(seconds * rate)) }

// mixInto adds gain times src to dst from sample at on; what falls outside is left out.
func mixInto[D, S float32 | float64](dst []D, src []S, at int, gain float64) {
	if at < 0 {
		if -at >= len(src) {
			return
		}
		src, at = src[-at:], 0
	}
	if at >= len(dst) {
		return
	}
	dst = dst[at:]
	if len(src) > len(dst) {
		src = src[:len(dst)]
	}
	for i, v := range src {
		dst[i] += D(gain * float64(v))
	}
}

func peakOf(planes ...[]float64) float64 {
	var p float64
	for _, x := range planes {
		for _, v := range x {
			p = math.Max(p, math.Abs(v))
		}
	}
	return p
}

func scale(x []float64, gain float64) {
	for i := range x {
		x[i] *= gain
	}
}

// fade lets the first in and the last out samples rise and fall as a raised cosine.
func fade(x []float64, in, out int) {
	in, out = min(in, len(x)), min(out, len(x))
	for i := range in {
		x[i] *= 0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(in))
	}
	for i := range out {
		x[len(x)-1-i] *= 0.5 - 0.5*math.Cos(math.Pi*float64(i)/float64(out))
	}
}

// softClip is tanh with first-order antiderivative anti-aliasing (Parker, Zavalishin and Le Bivic, DAFx-16): gain
// before, a bias that makes even harmonics.
func softClip(x []float64, gain, bias float64) {
	integral := func(v float64) float64 { v = math.Abs(v); return v + math.Log1p(math.Exp(-2*v)) }
	rest := math.Tanh(bias)
	last, lastF := bias, integral(bias)
	for i, v := range x {
		v = v*gain + bias
		f := integral(v)
		if d := v - last; math.Abs(d) > 1e-4 {
			x[i] = (f-lastF)/d - rest
		} else {
			x[i] = math.Tanh((v+last)/2) - rest
		}
		last, lastF = v, f
	}
}

// compress turns down what exceeds the threshold. Level is followed on the loudest of the planes, so a stereo image
// stays where it is. thresholdDB is relative to the peak.
func compress(thresholdDB, ratio, attackS, releaseS float64, planes ...[]float64) {
	threshold := decibels(thresholdDB) * peakOf(planes...)
	if threshold == 0 {
		return
	}
	up, down := math.Exp(-1/(attackS*rate)), math.Exp(-1/(releaseS*rate))
	var level float64
	gain := 1.0
	for i := range planes[0] {
		var v float64
		for _, x := range planes {
			v = math.Max(v, math.Abs(x[i]))
		}
		c := down
		if v > level {
			c = up
		}
		level = c*level + (1-c)*v
		if i%8 == 0 {
			gain = 1
			if level > threshold {
				gain = math.Pow(level/threshold, 1/ratio-1)
			}
		}
		for _, x := range planes {
			x[i] *= gain
		}
	}
}

// noise fills a buffer with white noise of standard deviation 1.
func noise(r *rand.Rand, n int) []float64 {
	x := make([]float64, n)
	for i := range x {
		x[i] = r.NormFloat64()
	}
	return x
}
