package printcheck

import (
	"math"
	"math/cmplx"
	"slices"

	"gonum.org/v1/gonum/dsp/fourier"
)

// response is the linear path from mix to print along the course, line by line: H = conj(mix) * print / |mix|^2. Noise of
// the return averages out of it.
type response struct {
	size   int
	rate   int
	h      []complex128
	weight []float64 // coherence / (1 - coherence), times the number of frames: one over the variance of phase
	xx     []float64
}

func responseOf(xx, yy []float64, xy []complex128, frames, size, rate int) *response {
	r := &response{size: size, rate: rate, h: make([]complex128, len(xx)), weight: make([]float64, len(xx)), xx: xx}
	top := 0.0
	for _, v := range xx {
		top = max(top, v)
	}
	for k := 1; k < len(xx)-1; k++ {
		if xx[k] <= top*1e-13 || yy[k] <= 0 {
			continue
		}
		r.h[k] = xy[k] / complex(xx[k], 0)
		c := sq(xy[k]) / (xx[k] * yy[k])
		// With few frames chance alone makes lines agree.
		c = math.Max(0, (c*float64(frames)-1)/math.Max(1, float64(frames)-1))
		r.weight[k] = float64(frames) * c / (1 - c + 1e-6)
		if c < 0.1 {
			r.weight[k] = 0
		}
	}
	return r
}

func sq(v complex128) float64 { return real(v)*real(v) + imag(v)*imag(v) }

// Delay of a chain that also changes phase. Three readings of the phase are tried, and the one that leaves least is taken:
// the chain delays and does nothing else to phase (linear phase); what it does to level it does with minimum phase, as
// equalizers and transformers do; the same, but only inside the band it passes well, as when a codec or a converter cuts
// the top off with linear phase. In each the rest of the phase has to be proportional to frequency.
type delay struct {
	frames  float64 // beyond the course, of the mix's clock
	reading string  // "linear phase", "minimum phase"
	left    float64 // weighted rms of the phase that is left, radians
}

const passesWell = 6.0 // dB below the typical level

func (r *response) delay() delay {
	none := r.fit(nil)
	none.reading = "linear phase"
	best := none
	for _, limit := range []float64{passesWell, math.Inf(1)} {
		d := r.fit(r.minimumPhase(limit))
		d.reading = "minimum phase"
		if d.left < 0.7*none.left && d.left < best.left && none.left > 1e-3 {
			best = d
		}
	}
	return best
}

// fit finds the delay that leaves least of the phase, with Huber's weights against lines that do not belong (hum).
func (r *response) fit(extra []float64) delay {
	d := delay{}
	phase := make([]float64, len(r.h))
	for range 12 {
		turn := 2 * math.Pi * d.frames / float64(r.size)
		var off, weights []float64
		for k := range r.h {
			if r.weight[k] == 0 {
				continue
			}
			p := cmplx.Phase(r.h[k]) + turn*float64(k)
			if extra != nil {
				p -= extra[k]
			}
			phase[k] = math.Remainder(p, 2*math.Pi)
			off, weights = append(off, math.Abs(phase[k])), append(weights, r.weight[k])
		}
		if len(off) == 0 {
			return d
		}
		limit := max(3*weightedMedian(off, weights), 1e-6)
		var above, below, square, total float64
		for k, w := range r.weight {
			if w == 0 {
				continue
			}
			if a := math.Abs(phase[k]); a > limit {
				w *= limit / a
			}
			f := 2 * math.Pi * float64(k) / float64(r.size)
			above -= w * f * phase[k]
			below += w * f * f
			square += w * phase[k] * phase[k]
			total += w
		}
		step := above / below
		d.frames += step
		d.left = math.Sqrt(square / total)
		if math.Abs(step) < 1e-7 {
			break
		}
	}
	return d
}

// weightedMedian sorts both.
func weightedMedian(v, w []float64) float64 {
	order := make([]int, len(v))
	var total float64
	for i := range order {
		order[i] = i
		total += w[i]
	}
	slices.SortFunc(order, func(a, b int) int {
		switch {
		case v[a] < v[b]:
			return -1
		case v[a] > v[b]:
			return 1
		}
		return 0
	})
	var sum float64
	for _, i := range order {
		if sum += w[i]; sum >= total/2 {
			return v[i]
		}
	}
	return 0
}

const perOctave = 12.0 // resolution of the level from which minimum phase is computed

// minimumPhase is the phase that belongs to the smoothed level if nothing is delayed more than it must be (Bode 1945),
// computed by the real cepstrum (Oppenheim and Schafer).
func (r *response) minimumPhase(limit float64) []float64 { return phaseOf(r.smooth(limit)) }

// prior is the smooth part of the linear path as an impulse response: what the fit starts from, and keeps where the music
// says nothing.
func (r *response) prior(d delay, taps, lead int) []float64 {
	logs := r.smooth(math.Inf(1))
	phase := make([]float64, len(logs))
	if d.reading == "minimum phase" {
		phase = phaseOf(logs)
	}
	h := make([]complex128, len(logs))
	for k := range h {
		h[k] = cmplx.Rect(math.Exp(logs[k])/float64(r.size), phase[k]-2*math.Pi*float64(k)*(d.frames+float64(lead))/float64(r.size))
	}
	h[len(h)-1] = complex(real(h[len(h)-1]), 0)
	return fourier.NewFFT(r.size).Sequence(nil, h)[:taps]
}

// smooth is the log of the level over a twelfth of an octave. Where it lies more than limit dB below the typical one, or
// is not known, the nearest known level is taken.
func (r *response) smooth(limit float64) []float64 {
	lines := len(r.h)
	logs := make([]float64, lines)
	known := make([]bool, lines)
	ratio := math.Pow(2, 0.5/perOctave)
	// Running sums make the smoothing over a twelfth of an octave cheap.
	weight, level := make([]float64, lines+1), make([]float64, lines+1)
	var typical, typicalWeights []float64
	for k := range lines {
		weight[k+1], level[k+1] = weight[k], level[k]
		if w := math.Min(r.weight[k], 1e4); w > 0 {
			weight[k+1] += w
			level[k+1] += w * math.Log(cmplx.Abs(r.h[k]))
		}
	}
	for k := 1; k < lines; k++ {
		lo := max(1, int(math.Ceil(float64(k)/ratio)))
		hi := min(lines-1, int(float64(k)*ratio))
		if w := weight[hi+1] - weight[lo]; w > 0 {
			logs[k], known[k] = (level[hi+1]-level[lo])/w, true
			typical, typicalWeights = append(typical, logs[k]), append(typicalWeights, 1/float64(k))
		}
	}
	if len(typical) == 0 {
		return logs
	}
	floor := weightedMedian(typical, typicalWeights) - limit*math.Ln10/20
	hold(logs, known, floor)
	return logs
}

// hold fills what is not known, or lies below the floor, from the nearest line towards the middle.
func hold(logs []float64, known []bool, floor float64) {
	middle := len(logs) / 16 // about 1.5 kHz
	good := func(k int) bool { return known[k] && logs[k] >= floor }
	at := middle
	for d := range len(logs) {
		if middle+d < len(logs) && good(middle+d) {
			at = middle + d
			break
		}
		if middle-d > 0 && good(middle-d) {
			at = middle - d
			break
		}
	}
	last := logs[at]
	for k := at; k < len(logs); k++ {
		if good(k) {
			last = logs[k]
		}
		logs[k] = last
	}
	last = logs[at]
	for k := at; k >= 0; k-- {
		if good(k) {
			last = logs[k]
		}
		logs[k] = last
	}
}

// phaseOf is the minimum phase of a log magnitude at lines 0..n/2.
func phaseOf(logs []float64) []float64 {
	lines := len(logs)
	n := 2 * (lines - 1)
	t := fourier.NewFFT(n)
	c := make([]complex128, lines)
	for k, v := range logs {
		c[k] = complex(v, 0)
	}
	cepstrum := t.Sequence(nil, c)
	for i := range cepstrum {
		switch {
		case i == 0 || i == n/2:
			cepstrum[i] /= float64(n)
		case i < n/2:
			cepstrum[i] *= 2 / float64(n)
		default:
			cepstrum[i] = 0
		}
	}
	out := t.Coefficients(nil, cepstrum)
	phase := make([]float64, lines)
	for k, v := range out {
		phase[k] = imag(v)
	}
	return phase
}
