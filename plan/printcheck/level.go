package printcheck

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/stat/distuv"
)

// Band is a third octave: how much more (or less) of it the print holds than the mix, once the gain common to most bands has
// been taken off.
type Band struct {
	Hz float64 `json:"hz"` // nominal
	// DB is the gain of the linear path less the gain of the print as a whole. Noise, hum and distortion products that
	// the chain adds are not in it.
	DB float64 `json:"db"`
	// CIDB is half the width of the 95 % confidence interval, from the spread between stretches of the song.
	CIDB float64 `json:"ci_db"`
	// LevelDB is the plain difference of level, less the same gain: with all that was added.
	LevelDB float64 `json:"level_db"`
	// Coherence says how much of the print's power in the band the mix explains by a linear path, 0..1.
	Coherence float64 `json:"coherence"`

	low, high float64
	power     float64 // of the mix
}

// bandGains measures all bands the mix has something in. Gains are whole, not yet less the common one.
func bandGains(g *gathered, bands []band, rate int) []Band {
	lines := g.size/2 + 1
	turn := make([]complex128, lines) // takes the phase of the linear path off
	total := make([]float64, lines)
	level := make([]float64, lines)
	explained := make([]float64, lines)
	var all float64
	for k := range lines {
		xy := g.all.xy[0][k] + g.all.xy[1][k]
		if a := cmplx.Abs(xy); a > 0 {
			turn[k] = cmplx.Conj(xy) / complex(a, 0)
		}
		total[k] = g.all.xx[0][k] + g.all.xx[1][k]
		level[k] = g.all.yy[0][k] + g.all.yy[1][k]
		if total[k] > 0 {
			explained[k] = sq(xy) / total[k]
		}
		all += total[k]
	}
	var out []Band
	for i, b := range bands {
		xx, yy := bandSum(b, total), bandSum(b, level)
		if xx < all*1e-11 || xx == 0 || yy == 0 {
			continue
		}
		coherence := clamp(bandSum(b, explained)/yy, 0, 1)
		n := float64(g.all.frames) * float64(len(b.weight)) / 1.5 // frames overlap by half under the window
		coherence = math.Max(0, (coherence*n-1)/math.Max(n-1, 1))
		gain, spread := jackknife(g, b, turn)
		if gain <= 0 || coherence < 0.01 {
			continue
		}
		random := 20 / math.Ln10 * math.Sqrt((1-coherence)/(2*coherence*n)) * 1.96
		out = append(out, Band{
			Hz: bands[i].hz, DB: 20 * math.Log10(gain), CIDB: math.Max(spread, random), LevelDB: 10 * math.Log10(yy/xx),
			Coherence: coherence, low: b.low, high: b.high, power: xx,
		})
	}
	return out
}

// jackknife returns the amplitude gain of a band over all stretches, and half the width of its 95 % confidence interval in
// dB from leaving out one stretch at a time (Tukey 1958). Below three stretches the spread is not known: 0.
func jackknife(g *gathered, b band, turn []complex128) (gain, spread float64) {
	n := len(g.briefs)
	num, den := make([]float64, n), make([]float64, n)
	var sumNum, sumDen float64
	for j, s := range g.briefs {
		for i, w := range b.weight {
			k := b.first + i
			num[j] += w * real(complex128(s.xy[k])*turn[k])
			den[j] += w * float64(s.xx[k])
		}
		sumNum, sumDen = sumNum+num[j], sumDen+den[j]
	}
	if sumDen == 0 {
		return 0, 0
	}
	return sumNum / sumDen, leaveOneOut(num, den)
}

// leaveOneOut is half the 95 % interval, in dB, of 20 log10 of the ratio of the two sums.
func leaveOneOut(num, den []float64) float64 {
	var a, b float64
	for i := range num {
		a, b = a+num[i], b+den[i]
	}
	var parts []float64
	for i := range num {
		if d, n := b-den[i], a-num[i]; d > 0 && n > 0 && den[i] > 0 {
			parts = append(parts, 20*math.Log10(n/d))
		}
	}
	return jackknifeCI(parts)
}

// jackknifeCI is half the width of the 95 % confidence interval from estimates that each leave one part out.
func jackknifeCI(parts []float64) float64 {
	n := float64(len(parts))
	if n < 3 {
		return 0
	}
	var mean, square float64
	for _, v := range parts {
		mean += v / n
	}
	for _, v := range parts {
		square += (v - mean) * (v - mean)
	}
	t := distuv.StudentsT{Mu: 0, Sigma: 1, Nu: n - 1}
	return t.Quantile(0.975) * math.Sqrt(square*(n-1)/n)
}

func clamp(v, low, high float64) float64 { return math.Max(low, math.Min(high, v)) }

// commonGain is the gain that most bands share: the highest point of the bands' density (a Gauss kernel), then a mean under
// Tukey's biweight round it. Where a chain only scales, it is the mean of all bands; where it lifts the lows, the bands
// that it leaves alone decide, and the lows show as a difference.
func commonGain(bands []Band) float64 {
	const (
		kernel  = 0.15 // dB
		biwidth = 0.4
		floor   = 0.05 // below this spread all bands count alike
	)
	weight := func(b Band) float64 {
		if b.Hz < 50 || b.Hz > 12500 {
			return 0
		}
		// What is not coherent may have been taken from the signal, as a lossy codec does, and then the gain reads low by up
		// to 10 log10 of the coherence.
		taken := 10 / math.Ln10 * (1 - b.Coherence)
		return 1 / (b.CIDB*b.CIDB + floor*floor + taken*taken)
	}
	best, mode := 0.0, 0.0
	any := false
	for _, at := range bands {
		var density float64
		for _, b := range bands {
			d := (b.DB - at.DB) / kernel
			density += weight(b) * math.Exp(-d*d/2)
		}
		if density > best {
			best, mode, any = density, at.DB, true
		}
	}
	if !any { // nothing between 50 Hz and 12.5 kHz: the loudest band speaks for all
		for _, b := range bands {
			if b.power > best {
				best, mode = b.power, b.DB
			}
		}
		return mode
	}
	for range 50 {
		var sum, total float64
		for _, b := range bands {
			u := (b.DB - mode) / biwidth
			if math.Abs(u) < 1 {
				w := weight(b) * (1 - u*u) * (1 - u*u)
				sum += w * b.DB
				total += w
			}
		}
		if total == 0 {
			break
		}
		mode = sum / total
	}
	return mode
}

// sideGains returns the common gain of each side on its own.
func sideGains(g *gathered, bands []band) (gain [2]float64) {
	for c := range 2 {
		var list []Band
		for _, b := range bands {
			xx, yy := bandSum(b, g.all.xx[c]), bandSum(b, g.all.yy[c])
			var xy float64
			for i, w := range b.weight {
				xy += w * cmplx.Abs(g.all.xy[c][b.first+i])
			}
			if xx > 0 && yy > 0 && xy > 0 {
				list = append(list, Band{Hz: b.hz, DB: 20 * math.Log10(xy/xx), Coherence: clamp(xy*xy/xx/yy, 0, 1), power: xx})
			}
		}
		gain[c] = commonGain(list)
	}
	return gain
}
