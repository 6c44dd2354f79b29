package timbre

import "math"

const (
	pitchLowHz     = 36
	pitchHighHz    = 1400
	pitchPerOctave = 36
	pitchHarmonics = 10
	pitchTopHz     = 5000
	harmonicDecay  = 0.84 // weight of each further harmonic in the summation (Hermes 1988)
)

// pitchFrame is what one frame says about its fundamental.
type pitchFrame struct {
	hz          float64 // fundamental
	salience    float64 // 0..1: share of the whitened spectrum that the harmonics explain
	contrast    float64 // best candidate over the mean candidate, in dB
	harmonicity float64 // 0..1: share of the power below 5 kHz on harmonics, corrected for the share they would cover by chance
	first       float64 // power of the first harmonic over all harmonics, dB
	oddEven     float64 // odd over even harmonics 2..9, dB
	stretch     float64 // mean distance of harmonics 2..8 from their places, cents
}

// pitchFinder finds the strongest fundamental of a power spectrum by subharmonic summation: the fourth root of the
// power, whitened by its local mean, is read at the multiples of each candidate and summed with decaying weights
// (Hermes, D. J. (1988), J. Acoust. Soc. Am. 83, 257-264). The winner is refined from interpolated peaks.
type pitchFinder struct {
	binHz    float64
	top      int       // bins looked at
	amp      []float32 // fourth root of power
	prev     []float32 // the same of the last frame
	white    []float32
	near     []float32 // largest of three neighbouring whitened bins
	cand     []float64 // candidate fundamentals, Hz
	start    []int32   // first index into place for each candidate
	place    []int32   // bins of the harmonics
	weight   [pitchHarmonics]float32
	hasPrev  bool
	stillNum float64 // last frame's overlap with the one before, and
	stillDen float64 // its norm
}

func newPitchFinder(binHz float64, bins int) *pitchFinder {
	f := &pitchFinder{binHz: binHz, top: min(bins, int(pitchTopHz/binHz)+1)}
	f.amp, f.prev = make([]float32, f.top), make([]float32, f.top)
	f.white, f.near = make([]float32, f.top), make([]float32, f.top)
	w := 1.0
	for h := range f.weight {
		f.weight[h] = float32(w)
		w *= harmonicDecay
	}
	n := int(math.Log2(pitchHighHz/float64(pitchLowHz)) * pitchPerOctave)
	for c := range n + 1 {
		hz := pitchLowHz * math.Exp2(float64(c)/pitchPerOctave)
		f.cand = append(f.cand, hz)
		f.start = append(f.start, int32(len(f.place)))
		for h := 1; h <= pitchHarmonics; h++ {
			k := int(math.Round(hz * float64(h) / binHz))
			if k >= f.top-1 {
				break
			}
			f.place = append(f.place, int32(k))
		}
	}
	f.start = append(f.start, int32(len(f.place)))
	return f
}

// compress takes the fourth root and compares it with the last frame's: still/(norm) is 1 for an unchanged spectrum.
func (f *pitchFinder) compress(power []float32) {
	f.amp, f.prev = f.prev, f.amp
	amp, prev := f.amp, f.prev
	n := min(f.top, len(power))
	var lo, hi float32
	for k, p := range power[:n] {
		a := float32(math.Sqrt(math.Sqrt(float64(p))))
		amp[k] = a
		lo += min(a, prev[k])
		hi += max(a, prev[k])
	}
	f.stillNum, f.stillDen = float64(lo), float64(hi)
}

// find returns the pitch of the frame given to compress; ok is false when no candidate stands out.
func (f *pitchFinder) find(power []float32) (pitchFrame, bool) {
	const half = 8
	n := min(f.top, len(power))
	if n < 4*half {
		return pitchFrame{}, false
	}
	amp, white := f.amp[:n], f.white[:n]
	var run float32
	for k := range half {
		run += amp[k]
	}
	var sum float32
	for k := range n {
		if k+half < n {
			run += amp[k+half]
		}
		if k > half {
			run -= amp[k-half-1]
		}
		w := amp[k] - run/(2*half+1)
		if w < 0 {
			w = 0
		}
		white[k] = w
		sum += w
	}
	near := f.near[:n]
	for k := 1; k < n-1; k++ {
		near[k] = max(white[k-1], white[k], white[k+1])
	}
	if !(sum > 0) {
		return pitchFrame{}, false
	}
	best, bestScore, mean := 0, float32(0), float32(0)
	for c := range f.cand {
		var s float32
		for h, k := range f.place[f.start[c]:f.start[c+1]] {
			s += f.weight[h] * near[k]
		}
		mean += s
		if s > bestScore {
			best, bestScore = c, s
		}
	}
	mean /= float32(len(f.cand))
	if !(bestScore > 0) {
		return pitchFrame{}, false
	}
	var p pitchFrame
	p.salience = float64(min(bestScore/sum, 1))
	p.contrast = 10 * math.Log10(float64(bestScore/mean))
	f.refine(&p, power[:n], f.cand[best])
	return p, true
}

// refine places the fundamental by the interpolated peaks of its harmonics and measures their balance.
func (f *pitchFinder) refine(p *pitchFrame, power []float32, hz float64) {
	var peakHz, peakW [9]float64
	var odd, even, first, all float64
	for h := 1; h <= 8; h++ {
		centre := hz * float64(h) / f.binHz
		span := math.Max(1, math.Min(0.02*centre, 0.3*hz/f.binHz))
		lo, hi := max(1, int(math.Round(centre-span))), min(len(power)-2, int(math.Round(centre+span)))
		if lo > hi {
			break
		}
		k := lo
		for j := lo; j <= hi; j++ {
			if power[j] > power[k] {
				k = j
			}
		}
		v := float64(power[k])
		all += v
		switch {
		case h == 1:
			first = v
		case h%2 == 1:
			odd += v
		default:
			even += v
		}
		if v <= 0 || power[k] < power[k-1] || power[k] < power[k+1] {
			continue
		}
		peakHz[h] = (float64(k) + parabola(power[k-1], power[k], power[k+1])) * f.binHz
		peakW[h] = math.Sqrt(math.Sqrt(v))
	}
	p.hz = hz
	p.first = ratioDB(first, all, 40)
	p.oddEven = ratioDB(odd, even, 30)
	var num, den float64
	for h := 1; h <= 8; h++ {
		w := peakW[h] * float64(h) // a peak's place divided by h is h times as sharp
		num += w * peakHz[h] / float64(h)
		den += w
	}
	if den > 0 {
		if better := num / den; math.Abs(better/hz-1) < 0.04 {
			p.hz = better
		}
		num, den = 0, 0
		for h := 2; h <= 8; h++ {
			if peakW[h] > 0 {
				num += peakW[h] * math.Abs(1200*math.Log2(peakHz[h]/(float64(h)*p.hz)))
				den += peakW[h]
			}
		}
		if den > 0 {
			p.stretch = num / den
		}
	}
	var total, on, covered float64
	for _, v := range power[2:] {
		total += float64(v)
	}
	for h := 1; ; h++ {
		k := int(math.Round(p.hz * float64(h) / f.binHz))
		if k+1 >= len(power) {
			break
		}
		for j := max(2, k-1); j <= k+1; j++ {
			on += float64(power[j])
			covered++
		}
	}
	covered /= float64(len(power) - 2)
	if total > 0 && covered < 0.95 {
		p.harmonicity = math.Max(-0.5, math.Min(1, (on/total-covered)/(1-covered)))
	}
}

// parabola is the offset (-0.5..0.5) of the top of a parabola through three log powers, exact for a Gaussian lobe and
// good to a few hundredths of a bin for a Hann window.
func parabola(a, b, c float32) float64 {
	if a <= 0 || b <= 0 || c <= 0 {
		return 0
	}
	la, lb, lc := math.Log(float64(a)), math.Log(float64(b)), math.Log(float64(c))
	d := la - 2*lb + lc
	if d >= 0 {
		return 0
	}
	return math.Max(-0.5, math.Min(0.5, 0.5*(la-lc)/d))
}
