// Package changes alters a file so that what it holds stays what it is: silence around and between, gain, polarity, rate, one half
// of the take. What is heard of the track should stay, too.
package changes

import "math"

// Change makes other samples and another rate of planes of samples. Planes are never written to.
type Change struct {
	Name string
	Half bool // takes half of the music away, so that little is promised
	Do   func(planes [][]float32, rate int) (changed [][]float32, changedRate int)
}

// All lists the changes.
var All = []Change{
	{"as much silence after", false, func(p [][]float32, rate int) ([][]float32, int) {
		return each(p, func(x []float32) []float32 { return joined(x, silence(len(x))) }), rate
	}},
	{"as much silence before", false, func(p [][]float32, rate int) ([][]float32, int) {
		return each(p, func(x []float32) []float32 { return joined(silence(len(x)), x) }), rate
	}},
	{"10 s of silence between", false, func(p [][]float32, rate int) ([][]float32, int) {
		return each(p, func(x []float32) []float32 { return joined(x[:len(x)/2], silence(10*rate), x[len(x)/2:]) }), rate
	}},
	{"12 dB lower", false, func(p [][]float32, rate int) ([][]float32, int) {
		return each(p, func(x []float32) []float32 { return scaled(x, 0.2512) }), rate
	}},
	{"other polarity", false, func(p [][]float32, rate int) ([][]float32, int) {
		return each(p, func(x []float32) []float32 { return scaled(x, -1) }), rate
	}},
	{"44.1 kHz", false, toRate(44100)},
	{"48 kHz", false, toRate(48000)},
	{"96 kHz", false, toRate(96000)},
	{"first half", true, func(p [][]float32, rate int) ([][]float32, int) { return Part(p, 0, 1), rate }},
	{"other half", true, func(p [][]float32, rate int) ([][]float32, int) { return Part(p, 1, 2), rate }},
}

// toRate leaves a track that has this rate alone: nil planes.
func toRate(to int) func([][]float32, int) ([][]float32, int) {
	return func(p [][]float32, rate int) ([][]float32, int) {
		if rate == to {
			return nil, rate
		}
		return each(p, func(x []float32) []float32 { return Resample(x, rate, to) }), to
	}
}

func each(planes [][]float32, f func(x []float32) []float32) [][]float32 {
	out := make([][]float32, len(planes))
	for c, x := range planes {
		out[c] = f(x)
	}
	return out
}

func silence(n int) []float32 { return make([]float32, n) }

func joined(parts ...[]float32) []float32 {
	var out []float32
	for _, p := range parts {
		out = append(out, p...)
	}
	return out
}

func scaled(x []float32, g float32) []float32 {
	out := make([]float32, len(x))
	for i, v := range x {
		out[i] = g * v
	}
	return out
}

// Resample reads x at another rate through a Hann-windowed sinc of 24 points.
func Resample(x []float32, from, to int) []float32 {
	const reach, steps = 12, 512
	cut := math.Min(1, float64(to)/float64(from)) * 0.97
	kernel := make([]float64, 2*reach*steps+1)
	for i := range kernel {
		t := float64(i)/steps - reach
		kernel[i] = cut * (0.5 + 0.5*math.Cos(math.Pi*t/reach))
		if t != 0 {
			kernel[i] *= math.Sin(math.Pi*cut*t) / (math.Pi * cut * t)
		}
	}
	out := make([]float32, len(x)*to/from)
	for i := range out {
		at := float64(i) * float64(from) / float64(to)
		k := int(at)
		var s float64
		for j := max(0, k-reach+1); j < min(len(x), k+reach); j++ {
			s += float64(x[j]) * kernel[int((float64(j)-at+reach)*steps+0.5)]
		}
		out[i] = float32(s)
	}
	return out
}

// Part cuts a track where half of its energy has passed, so that each half sounds.
func Part(planes [][]float32, from, to int) [][]float32 {
	var all, run float64
	for _, x := range planes {
		for _, v := range x {
			all += float64(v) * float64(v)
		}
	}
	cut := 0
	for ; cut < len(planes[0]) && run < all/2; cut++ {
		for _, x := range planes {
			run += float64(x[cut]) * float64(x[cut])
		}
	}
	at := [3]int{0, cut, len(planes[0])}
	return each(planes, func(x []float32) []float32 { return x[at[from]:at[to]] })
}

// Loudest is the stretch of n samples with the most energy, to a fortieth of its length; the whole where it is no longer.
func Loudest(planes [][]float32, n int) [][]float32 {
	step, best, at := max(1, n/40), -1.0, 0
	if len(planes[0]) <= n {
		return planes
	}
	for i := 0; i+n <= len(planes[0]); i += step {
		var e float64
		for _, x := range planes {
			for k := i; k < i+n; k += 7 {
				e += float64(x[k]) * float64(x[k])
			}
		}
		if e > best {
			best, at = e, i
		}
	}
	return each(planes, func(x []float32) []float32 { return x[at : at+n] })
}

// Quiet reports whether nothing rises above -60 dBFS.
func Quiet(planes [][]float32) bool {
	for _, x := range planes {
		for _, v := range x {
			if v > 1e-3 || v < -1e-3 {
				return false
			}
		}
	}
	return true
}
