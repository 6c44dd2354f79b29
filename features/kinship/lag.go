package kinship

import (
	"math"
	"sync"

	"foldout/features/fft"
)

const lagSize = 4096 // points of the correlation, four per sample at 4 kHz

var transforms = sync.Pool{New: func() any { return fft.New(lagSize) }}

// coherence is the mean over the bins of the magnitude-squared coherence |Sxy|^2 / (Sxx Syy) at one lag, weighted by
// sqrt(Sxx Syy), less what random phases would give; 0..1. Bins where either track is silent count for nothing.
func (c *cross) coherence(lag int) float64 {
	var sum, weight float64
	for b := range c.xx {
		p := c.xx[b] * c.yy[b]
		if !(p > 0) {
			continue
		}
		w := math.Sqrt(p)
		sum += w * c.squared(lag, b)
		weight += w
	}
	if !(weight > 0) {
		return 0
	}
	return min(max(sum/weight, 0), 1)
}

// squared is the magnitude-squared coherence in one bin, made free of chance: 1 stays 1, what random phases give
// becomes 0 on average.
func (c *cross) squared(lag, b int) float64 {
	re, im, random := c.at(lag, b)
	p := c.xx[b] * c.yy[b]
	if !(p > 0) {
		return 0
	}
	m := (re*re + im*im) / p
	chance := chanceGain * random / p
	if chance >= 1 {
		return 0
	}
	return (m - chance) / (1 - chance)
}

// delay finds by how much y is later than x, within 128 ms, from the generalised cross-correlation with phase
// transform, each bin weighted by its coherence. Sharpness is the height of the peak, 1 for a pure delay.
func (c *cross) delay(lag int) (seconds, sharpness, prominence float64, flipped bool) {
	first, _ := fine.bins()
	re, im := make([]float32, lagSize), make([]float32, lagSize)
	var weight float64
	for b := range c.xx {
		w := max(c.squared(lag, b), 0)
		u, v, _ := c.at(lag, b)
		a := math.Hypot(u, v)
		if !(a > 0) || !(w > 0) {
			continue
		}
		weight += w
		// Conjugated, so that the forward transform acts as the inverse one.
		re[first+b], im[first+b] = float32(w*u/a), float32(-w*v/a)
	}
	if !(weight > 0) {
		return 0, 0, 0, false
	}
	transform := transforms.Get().(*fft.FFT)
	transform.Transform(re, im, nil)
	transform.Bins(re, im)
	transforms.Put(transform)
	top, at := float32(-1), 0
	const reach = lagSize / 2
	for i, x := range re {
		if v := max(x, -x); v > top {
			top, at = v, i
		}
	}
	y := func(i int) float64 { return math.Abs(float64(re[(i+lagSize)%lagSize])) }
	l, m, r := y(at-1), y(at), y(at+1)
	shift := float64(at)
	if d := l - 2*m + r; d < 0 {
		shift += (l - r) / (2 * d)
	}
	if at >= reach {
		shift -= lagSize
	}
	const rate = waveRateHz * lagSize / 1024
	var sq float64
	for _, x := range re {
		sq += float64(x) * float64(x)
	}
	prominence = m / math.Sqrt(sq/lagSize)
	return shift / rate, m / weight, prominence, re[at] < 0
}
