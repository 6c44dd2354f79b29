package timbre

import (
	"math"

	"foldout/features/vec"
)

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
	sharp       float64 // harmonics 5..8 against 1..3, cents: strings with stiffness are sharp
	sharpOK     bool    // whether both were found
}

// pitchFinder finds the strongest fundamental of a power spectrum by subharmonic summation: the fourth root of the
// power, whitened by its local mean, is read on a logarithmic scale and summed over the multiples of each candidate
// with decaying weights (Hermes, D. J. (1988), J. Acoust. Soc. Am. 83, 257-264). The winner is refined from
// interpolated peaks.
type pitchFinder struct {
	binHz     float64
	amp, prev []float32 // fourth root of power, this frame and the last
	white     []uint32  // whitened roots, as their bits: they sort like the non-negative numbers they stand for
	cells     cells     // of the logarithmic scale, from pitchLowHz up
	offset    [pitchHarmonics]int
	weight    [pitchHarmonics]float32
	count     int     // candidates
	same, all float64 // sum of the smaller and of the larger of this and the last frame's roots
}

func newPitchFinder(binHz float64, bins int) *pitchFinder {
	top := min(bins, int(pitchTopHz/binHz)+1)
	f := &pitchFinder{binHz: binHz, count: int(math.Log2(pitchHighHz/float64(pitchLowHz)) * pitchPerOctave)}
	f.amp, f.prev, f.white = make([]float32, top), make([]float32, top), make([]uint32, top)
	w := 1.0
	for h := range f.weight {
		f.offset[h] = int(math.Round(pitchPerOctave * math.Log2(float64(h+1))))
		f.weight[h] = float32(w)
		w *= harmonicDecay
	}
	for c := range f.count + f.offset[pitchHarmonics-1] + 1 {
		// a cell reaches half a bin and half a step to either side
		hz := pitchLowHz * math.Exp2(float64(c)/pitchPerOctave)
		reach := math.Exp2(0.5 / pitchPerOctave)
		from, to := math.Round(hz/reach/binHz-0.5), math.Round(hz*reach/binHz+0.5)
		f.cells.append(int(min(float64(top), from)), int(min(float64(top), to+1)))
	}
	return f
}

// compress takes the fourth root of the bins and compares it with the last frame's.
func (f *pitchFinder) compress(power []float32) {
	f.amp, f.prev = f.prev, f.amp
	vec.FourthRoots(f.amp, power)
	sum, apart := vec.SumAndDistance(f.amp, f.prev)
	f.same, f.all = float64(sum-apart)/2, float64(sum+apart)/2
}

// forget makes the next frame the first.
func (f *pitchFinder) forget() { clear(f.amp) }

// find returns the pitch of the frame given to compress; ok is false when no candidate stands out.
func (f *pitchFinder) find(power []float32) (p pitchFrame, ok bool) {
	sum := f.whiten()
	if !(sum > 0) {
		return p, false
	}
	f.cells.fill(f.white)
	best, bestScore, mean := f.search()
	if !(bestScore > 0) {
		return p, false
	}
	p.salience = min(float64(bestScore/sum), 1)
	p.contrast = 10 * math.Log10(float64(bestScore/mean))
	f.refine(&p, power[:len(f.amp)], pitchLowHz*math.Exp2(float64(best)/pitchPerOctave))
	return p, true
}

// whiten subtracts the mean over 17 bins and keeps what is above it; it returns the sum.
func (f *pitchFinder) whiten() float32 {
	const half, share = 8, 1.0 / 17
	amp := f.amp
	n := len(amp)
	if n < 4*half {
		return 0
	}
	white := f.white[:n]
	var run, sum float32
	for _, a := range amp[:half] {
		run += a
	}
	step := func(k int) {
		bits := math.Float32bits(amp[k] - run*share)
		bits &^= uint32(int32(bits) >> 31) // 0 when negative
		white[k] = bits
		sum += math.Float32frombits(bits)
	}
	for k := 0; k <= half; k++ {
		run += amp[k+half]
		step(k)
	}
	// the long middle: what enters and what leaves the mean are joined first, so that only one addition waits for the
	// one before
	enter, mid, leave := amp[2*half+1:], amp[half+1:n-half], amp[:n-2*half-1]
	enter, leave, out := enter[:len(mid)], leave[:len(mid)], white[half+1:][:len(mid)]
	for i, a := range mid {
		run += enter[i] - leave[i]
		bits := math.Float32bits(a - run*share)
		bits &^= uint32(int32(bits) >> 31)
		out[i] = bits
		sum += math.Float32frombits(bits)
	}
	for k := n - half; k < n; k++ {
		run -= amp[k-half-1]
		step(k)
	}
	return sum
}

// search sums the harmonics of every candidate.
func (f *pitchFinder) search() (best int, bestScore, mean float32) {
	n, c, o, w := f.count, f.cells.top, &f.offset, &f.weight
	c0, c1, c2, c3, c4 := c[:n], c[o[1]:][:n], c[o[2]:][:n], c[o[3]:][:n], c[o[4]:][:n]
	c5, c6, c7, c8, c9 := c[o[5]:][:n], c[o[6]:][:n], c[o[7]:][:n], c[o[8]:][:n], c[o[9]:][:n]
	for i := range c0 {
		s := c0[i] + w[1]*c1[i] + w[2]*c2[i] + w[3]*c3[i] + w[4]*c4[i]
		s += w[5]*c5[i] + w[6]*c6[i] + w[7]*c7[i] + w[8]*c8[i] + w[9]*c9[i]
		mean += s
		if s > bestScore {
			best, bestScore = i, s
		}
	}
	return best, bestScore, mean / float32(n)
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
	p.sharp, p.sharpOK = sharpness(&peakHz, &peakW)
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

// sharpness is how far the upper harmonics lie above the multiples of what the lower ones say, in cents within +-40.
// A stiff string's are sharp (Fletcher 1964, J. Acoust. Soc. Am. 36, 203-209); a bowed, blown or synthesised tone's are not.
func sharpness(hz, weight *[9]float64) (cents float64, ok bool) {
	mean := func(from, to int) float64 {
		var num, den float64
		for h := from; h <= to; h++ {
			w := weight[h] * float64(h)
			num += w * hz[h] / float64(h)
			den += w
		}
		if den <= 0 {
			return 0
		}
		return num / den
	}
	low, high := mean(1, 3), mean(5, 8)
	if low <= 0 || high <= 0 {
		return 0, false
	}
	return math.Max(-40, math.Min(40, 1200*math.Log2(high/low))), true
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
