package trace

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/align"
	"foldout/plan/linecheck/tones"
)

// clock maps time in the tones to a place in the recording: place = origin + scale * seconds.
type clock struct {
	origin float64 // frame of the recording at second 0 of the tones
	scale  float64 // frames for a second of the tones: rate of the recording, times 1 + drift
}

func (c clock) place(seconds float64) float64 { return c.origin + c.scale*seconds }

func (c clock) seconds(place float64) float64 { return (place - c.origin) / c.scale }

// heard is one chirp as it came back on one side.
type heard struct {
	output, side int
	at           float64 // seconds in the tones
	delay        float64 // frames against the clock it was looked for with
	gain         float64 // return over file, below 0 where inverted
	sigma        float64 // standard error of delay
	snr          float64 // height of the correlation over its noise
}

// A chirp counts as heard where its correlation stands this far over the rms of what is around. Of noise alone the
// highest of the lags looked at stands 4 to 5 over it.
const heardSNR = 9

// chirpReach is how far from its place a chirp is looked for, in seconds.
const chirpReach = 0.045

// listenChirps looks for every chirp of a sync signal on both sides.
func (r *recording) listenChirps(s tones.Sync, c clock, amplitude float64) ([]heard, error) {
	pad := int64(chirpReach * r.rate)
	length := int64(tones.ChirpSeconds*r.rate*1.002) + 2
	n := align.Size(int(length + 2*pad))
	fft := fourier.NewFFT(n)
	ref := make([]float64, n)
	for i := range length {
		ref[i] = amplitude * tones.Chirp(float64(i)/c.scale, s.Rising)
	}
	energy := 0.0
	for _, v := range ref {
		energy += v * v
	}
	R := fft.Coefficients(nil, ref)
	var out []heard
	for output, times := range s.At {
		for _, at := range times {
			place := c.place(at)
			from := int64(math.Floor(place)) - pad
			if from < -pad || from+length+pad > r.info.Frames+pad {
				continue
			}
			seg, err := r.cut(from, from+length+2*pad)
			if err != nil {
				return nil, err
			}
			for side, x := range seg {
				h := chirpIn(x, fft, R, energy, r.rate, int(2*pad))
				h.output, h.side, h.at = output, side, at
				h.delay += float64(from) - place
				out = append(out, h)
			}
		}
	}
	return out, nil
}

// chirpIn finds the chirp in x within the first so many lags.
func chirpIn(x []float64, fft *fourier.FFT, ref []complex128, energy, rate float64, lags int) heard {
	n := fft.Len()
	pad := make([]float64, n)
	copy(pad, x)
	X := fft.Coefficients(nil, pad)
	for k := range X {
		X[k] *= cmplx.Conj(ref[k])
	}
	r := fft.Sequence(nil, X)
	at, value := align.Peak(r[:lags])
	h := heard{gain: value / float64(n) / energy}
	// Noise: what the correlation does away from the peak.
	sum, count := 0.0, 0
	guard := int(0.01 * rate)
	for i, v := range r[:lags] {
		if i < int(at)-guard || i > int(at)+guard {
			sum += v * v
			count++
		}
	}
	noise := math.Sqrt(sum/float64(max(1, count))) + 1e-300
	h.snr = math.Abs(value) / noise
	h.delay, h.sigma = refine(r[:lags], at, value, rate)
	return h
}

// refine takes the delay from the phase of what is within 4 ms of the peak.
func refine(r []float64, at, value, rate float64) (delay, sigma float64) {
	const m = 1024
	half := int(0.004 * rate)
	n := m
	for n < 2*half {
		n *= 2
	}
	centre := int(math.Round(at))
	x := make([]float64, n)
	for i := -half; i <= half; i++ {
		if k := centre + i; k >= 0 && k < len(r) {
			x[(i+n)%n] = r[k] * (0.5 + 0.5*math.Cos(math.Pi*float64(i)/float64(half+1)))
		}
	}
	X := fourier.NewFFT(n).Coefficients(nil, x)
	var h []complex128
	var hz, weight []float64
	for k := range X {
		f := float64(k) / float64(n)
		if f*rate < tones.ChirpLowHz*1.5 || f*rate > tones.ChirpHighHz*0.93 {
			continue
		}
		h, hz, weight = append(h, X[k]), append(hz, f), append(weight, cmplx.Abs(X[k]))
	}
	fit := align.Slope(h, hz, weight, at-float64(centre))
	if math.Abs(fit.Delay+float64(centre)-at) > 3 { // a filter that bends the phase beyond use
		return at, 0.3
	}
	return float64(centre) + fit.Delay, max(1e-5, fit.Sigma)
}

// loudest keeps of every chirp the side where it is loudest, if it was heard at all.
func loudest(all []heard) []heard {
	best := map[[2]float64]heard{}
	for _, h := range all {
		key := [2]float64{float64(h.output), h.at}
		if b, ok := best[key]; h.snr > heardSNR && (!ok || math.Abs(h.gain) > math.Abs(b.gain)) {
			best[key] = h
		}
	}
	var out []heard
	for _, h := range all {
		if b, ok := best[[2]float64{float64(h.output), h.at}]; ok && b.side == h.side {
			out = append(out, h)
		}
	}
	return out
}

// between finds the drift from outputs that were heard in both sync signals, on one side each.
func between(first, last []heard, c clock) (ppm, sigmaPPM float64, ok bool) {
	type key struct{ output, side int }
	mean := func(list []heard) map[key]align.Point {
		sums := map[key][]heard{}
		for _, h := range list {
			k := key{h.output, h.side}
			sums[k] = append(sums[k], h)
		}
		out := map[key]align.Point{}
		for k, l := range sums {
			var p align.Point
			var w float64
			for _, h := range l {
				p.At, p.Delay, w = p.At+h.at, p.Delay+h.delay, w+1/(h.sigma*h.sigma)
			}
			p.At, p.Delay, p.Sigma = p.At/float64(len(l)), p.Delay/float64(len(l)), 1/math.Sqrt(w)
			out[k] = p
		}
		return out
	}
	a, b := mean(first), mean(last)
	var slopes, weights []float64
	for k, p := range a {
		if q, both := b[k]; both {
			span := (q.At - p.At) * c.scale
			slopes = append(slopes, (q.Delay-p.Delay)/span)
			weights = append(weights, span/math.Hypot(p.Sigma, q.Sigma))
		}
	}
	if len(slopes) == 0 {
		return 0, 0, false
	}
	value, sigma := settled(slopes, weights)
	return value * 1e6, sigma * 1e6, true
}

// settled is the mean of values, weighted by 1/sigma^2 (weights are 1/sigma), of those near their median.
func settled(values, weights []float64) (mean, sigma float64) {
	middle := align.Median(values)
	off := make([]float64, len(values))
	for i, v := range values {
		off[i] = math.Abs(v - middle)
	}
	limit := 5 * 1.4826 * align.Median(off)
	var sum, total, square float64
	n := 0
	for i, v := range values {
		if off[i] <= limit || len(values) < 3 {
			w := weights[i] * weights[i]
			sum, total = sum+w*v, total+w
			n++
		}
	}
	mean = sum / total
	for i, v := range values {
		if off[i] <= limit || len(values) < 3 {
			square += weights[i] * weights[i] * (v - mean) * (v - mean)
		}
	}
	sigma = math.Sqrt(1 / total)
	if n > 1 { // what the values really do, where it is more
		sigma = max(sigma, math.Sqrt(square/total/float64(n-1)))
	}
	return mean, sigma
}

// drifting finds the frequency of a tone from the turn of its phase, in parts per million of the clock it is read with.
// x begins at a frame of the recording; ok is false where the tone does not stand out.
func drifting(x []float64, c clock) (ppm, sigmaPPM float64, ok bool) {
	period := c.scale / tones.ToneHz
	track := demodulate(x, 2*math.Pi/period, int(math.Round(16*period)), true)
	if len(track) < 20 {
		return 0, 0, false
	}
	middle := make([]float64, len(track))
	for i, v := range track {
		middle[i] = cmplx.Abs(v)
	}
	level := align.Median(middle)
	if level == 0 {
		return 0, 0, false
	}
	hop := math.Round(16 * period)
	// The step of the phase over the whole length, unwrapped on the way.
	var points []align.Point
	phase, previous := 0.0, track[0]
	for i, v := range track {
		if i > 0 {
			phase += cmplx.Phase(v * cmplx.Conj(previous))
		}
		previous = v
		points = append(points, align.Point{At: float64(i) * hop, Delay: -phase * period / (2 * math.Pi), Sigma: 1})
	}
	line := align.FitLine(points, 0)
	spread := max(line.Spread, 1e-9)
	if spread > period/8 {
		return 0, 0, false
	}
	return line.PPM, line.SigmaPPM * spread, true
}

// demodulate turns x by a frequency (radians a sample) to a standstill and averages it over hop samples: the amplitude
// and phase of that tone, one value a hop. A soft average, under a Hann window, keeps out what the tone leaves at twice
// its frequency, for exact phases; the plain one reacts to what is short.
func demodulate(x []float64, omega float64, hop int, soft bool) []complex128 {
	out := make([]complex128, 0, len(x)/hop)
	weight := make([]float64, hop)
	for i := range weight {
		weight[i] = 1
		if soft {
			weight[i] = 1 - math.Cos(2*math.Pi*(float64(i)+0.5)/float64(hop))
		}
	}
	for start := 0; start+hop <= len(x); start += hop {
		turn := cmplx.Rect(1, -omega*float64(start))
		step := cmplx.Rect(1, -omega)
		sum := complex(0, 0)
		for i, v := range x[start : start+hop] {
			sum += complex(v*weight[i], 0) * turn
			turn *= step
		}
		out = append(out, sum*complex(2/float64(hop), 0))
	}
	return out
}
