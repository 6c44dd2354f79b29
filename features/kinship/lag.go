package kinship

import "math"

const lagSize = 4096 // points of the correlation, four per sample at 4 kHz

// coherence is the mean over the bins of the magnitude-squared coherence |Sxy|^2 / (Sxx Syy) at one lag, weighted by
// sqrt(Sxx Syy), less what random phases would give; 0..1. Bins where either track is silent count for nothing.
func (c *cross) coherence(lag int) float64 {
	var sum, weight float64
	for b := range c.xx {
		p := float64(c.xx[b]) * float64(c.yy[b])
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
	re, im := float64(c.re[lag][b]), float64(c.im[lag][b])
	p := float64(c.xx[b]) * float64(c.yy[b])
	if !(p > 0) {
		return 0
	}
	m := (re*re + im*im) / p
	chance := chanceGain * float64(c.chance[lag][b]) / p
	if chance >= 1 {
		return 0
	}
	return (m - chance) / (1 - chance)
}

// delay finds by how much y is later than x, within 128 ms, from the generalised cross-correlation with phase
// transform, each bin weighted by its coherence. Sharpness is the height of the peak, 1 for a pure delay.
func (c *cross) delay(lag int) (seconds, sharpness, prominence float64, flipped bool) {
	first, _ := fine.bins()
	x := make([]complex64, lagSize)
	var weight float64
	for b := range c.xx {
		w := max(c.squared(lag, b), 0)
		re, im := float64(c.re[lag][b]), float64(c.im[lag][b])
		a := math.Hypot(re, im)
		if !(a > 0) || !(w > 0) {
			continue
		}
		weight += w
		// Conjugated, so that the forward transform acts as the inverse one.
		x[first+b] = complex(float32(w*re/a), float32(-w*im/a))
	}
	if !(weight > 0) {
		return 0, 0, 0, false
	}
	newTransform(lagSize).forward(x)
	top, at := float32(-1), 0
	const reach = lagSize / 2
	for i := range x {
		if v := max(real(x[i]), -real(x[i])); v > top {
			top, at = v, i
		}
	}
	y := func(i int) float64 { return math.Abs(float64(real(x[(i+lagSize)%lagSize]))) }
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
	for _, v := range x {
		sq += float64(real(v)) * float64(real(v))
	}
	prominence = m / math.Sqrt(sq/lagSize)
	return shift / rate, m / weight, prominence, real(x[at]) < 0
}
