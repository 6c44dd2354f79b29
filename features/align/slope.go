package align

import (
	"math"
	"math/cmplx"
)

// Fit is what the phase of a transfer function says.
type Fit struct {
	Delay    float64 // samples
	Inverted bool
	Spread   float64 // weighted rms of the phase around the fit, radians
	Sigma    float64 // standard error of Delay, samples, from Spread; bins are taken as independent
}

// Slope fits the phase of h with a delay and a polarity: phase = -2 pi f delay, plus pi where the polarity is inverted.
// h[k] belongs to the frequency hz[k] = cycles per sample, weight[k] >= 0 says how much it counts. near is a first guess
// of the delay, good to half a period of the highest frequency; Peak gives one. All weights 0 give near.
func Slope(h []complex128, hz, weight []float64, near float64) Fit {
	fit := Fit{Delay: near}
	turn := func(k int, delay float64) complex128 {
		return h[k] * cmplx.Rect(1, 2*math.Pi*hz[k]*delay)
	}
	// The polarity first, from what all bins say once the guessed delay is taken out.
	sum := complex(0, 0)
	for k := range h {
		if m := cmplx.Abs(h[k]); m > 0 {
			sum += turn(k, near) * complex(weight[k]/m, 0)
		}
	}
	sign := complex(1, 0)
	if fit.Inverted = real(sum) < 0; fit.Inverted {
		sign = -1
	}
	for range 8 {
		var num, den, square, total float64
		n := 0
		for k := range h {
			if weight[k] <= 0 || h[k] == 0 {
				continue
			}
			p, w := cmplx.Phase(sign*turn(k, fit.Delay)), 2*math.Pi*hz[k]
			num += weight[k] * w * p
			den += weight[k] * w * w
			square += weight[k] * p * p
			total += weight[k]
			n++
		}
		if den == 0 {
			return fit
		}
		step := -num / den
		fit.Delay += step
		fit.Spread = math.Sqrt(square / total)
		fit.Sigma = fit.Spread / math.Sqrt(den/total*float64(n))
		if math.Abs(step) < 1e-7 {
			break
		}
	}
	return fit
}
