package trace

import (
	"math"
	"math/cmplx"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/features/align"
	"foldout/plan/linecheck/tones"
)

// blackmanHarris is the four-term window of Harris 1978: side lobes 92 dB down.
func blackmanHarris(n int) []float64 {
	w := make([]float64, n)
	for i := range w {
		t := 2 * math.Pi * (float64(i) + 0.5) / float64(n)
		w[i] = 0.35875 - 0.48829*math.Cos(t) + 0.14128*math.Cos(2*t) - 0.01168*math.Cos(3*t)
	}
	return w
}

// phasor is amplitude and phase (of a cosine at the first sample) of a sine of omega radians a sample within x, which
// has been multiplied by a window that sums to total.
func phasor(windowed []float64, total, omega float64) complex128 {
	step := cmplx.Rect(1, -omega)
	sum := complex(0, 0)
	const again = 1024 // samples after which the turning is computed anew
	for start := 0; start < len(windowed); start += again {
		turn := cmplx.Rect(1, -omega*float64(start))
		for _, v := range windowed[start:min(start+again, len(windowed))] {
			sum += complex(v*real(turn), v*imag(turn))
			turn *= step
		}
	}
	return sum * complex(2/total, 0)
}

// toneFigures is what the 1 kHz says.
type toneFigures struct {
	amplitude  float64 // peak
	thd        float64 // harmonics 2 to 10 within 20 kHz, over the fundamental
	thdNoise   float64 // what noise may add to thd
	thdn       float64 // all but the fundamental, 20 Hz to 20 kHz, over all
	harmonicDB []float64
	noise      float64 // amplitude that noise makes at one frequency
	dips       []dip
	steadyDB   float64 // how far the level wanders, highest against lowest, without dips
}

const mostHarmonics = 10

// toneOf measures a 1 kHz tone; scale is frames a second of the tones.
func toneOf(x []float64, scale float64) toneFigures {
	var f toneFigures
	w := blackmanHarris(len(x))
	total := 0.0
	windowed := make([]float64, len(x))
	for i, v := range w {
		total += v
		windowed[i] = v * x[i]
	}
	omega := 2 * math.Pi * tones.ToneHz / scale
	first := phasor(windowed, total, omega)
	f.amplitude = cmplx.Abs(first)
	power := 0.0
	for h := 2; h <= mostHarmonics && float64(h)*tones.ToneHz <= 20000 && float64(h)*omega < 0.97*math.Pi; h++ {
		p := square(phasor(windowed, total, float64(h)*omega))
		noise := 0.0
		for _, off := range []float64{-61, -37, 37, 61} { // no harmonic of the mains there
			noise += square(phasor(windowed, total, float64(h)*omega+off*2*math.Pi/scale)) / 4
		}
		p = max(0, p-noise)
		power += p
		f.noise = max(f.noise, math.Sqrt(noise))
		f.harmonicDB = append(f.harmonicDB, decibels(p/(f.amplitude*f.amplitude)))
	}
	f.thd = math.Sqrt(power) / f.amplitude
	f.thdNoise = 2 * f.noise * math.Sqrt(float64(len(f.harmonicDB))) / f.amplitude
	f.thdn = f.residual(x, scale, omega, first)
	f.dips, f.steadyDB = steadiness(x, scale, omega)
	if len(f.dips) > 0 { // the level is that of the tone while it sounds
		f.amplitude = cmplx.Abs(sounding(windowed, w, f.dips, scale, omega))
	}
	return f
}

// sounding is the phasor of what lies outside the dips and a reading's length around them. windowed is spoilt.
func sounding(windowed, w []float64, dips []dip, scale, omega float64) complex128 {
	margin := dipPeriods * scale / tones.ToneHz
	total := 0.0
	for i := range windowed {
		for _, d := range dips {
			if at := float64(i) - d.at*scale; at > -margin && at < d.seconds*scale+margin {
				windowed[i] = 0
				total -= w[i]
				break
			}
		}
		total += w[i]
	}
	if total <= 0 {
		return 0
	}
	return phasor(windowed, total, omega)
}

// residual is THD+N: the tone is taken away and the rest summed from 20 Hz to 20 kHz.
func (f *toneFigures) residual(x []float64, scale, omega float64, first complex128) float64 {
	rest := make([]float64, smooth(len(x)))
	norm := 0.0
	for i, v := range x {
		w := 0.5 - 0.5*math.Cos(2*math.Pi*(float64(i)+0.5)/float64(len(x)))
		norm += w * w
		rest[i] = w * (v - real(first*cmplx.Rect(1, omega*float64(i))))
	}
	X := fourier.NewFFT(len(rest)).Coefficients(nil, rest)
	p := 0.0
	for k, v := range X {
		if hz := float64(k) * scale / float64(len(rest)); hz >= 20 && hz <= 20000 {
			p += 2 * square(v) / float64(len(rest)) / norm
		}
	}
	tone := f.amplitude * f.amplitude / 2
	return math.Sqrt(p / (p + tone))
}

// dip is a moment in which the sound goes away.
type dip struct {
	at, seconds float64 // from the start of the piece looked at
	db          float64 // how deep
	zero        bool    // both sides are digital zero meanwhile: the recorder lost it, not the output
}

const (
	dipDB       = 1.5 // what counts as a dip in a steady tone
	dipNoise    = 8   // and so many times the spread of its level
	dipPeriods  = 4   // periods of 1 kHz that a level is read over
	lastingDips = 5   // ends of the piece that are not looked at, in such readings
)

// steadiness follows the level of a tone every four periods.
func steadiness(x []float64, scale, omega float64) (dips []dip, wanderDB float64) {
	hop := int(math.Round(dipPeriods * scale / tones.ToneHz))
	track := demodulate(x, omega, hop, false)
	if len(track) < 4*lastingDips {
		return nil, 0
	}
	level := make([]float64, len(track))
	for i, v := range track {
		level[i] = cmplx.Abs(v)
	}
	middle := align.Median(level)
	off := make([]float64, len(level))
	for i, v := range level {
		off[i] = math.Abs(v - middle)
	}
	limit := max(middle*(1-math.Pow(10, -dipDB/20)), dipNoise*1.4826*align.Median(off))
	if limit >= middle { // noise hides what the level does
		return nil, 0
	}
	lowest, highest := middle, middle
	for i := 1; i < len(level)-1; i++ {
		if middle-level[i] < limit {
			lowest, highest = min(lowest, level[i]), max(highest, level[i])
			continue
		}
		start, deepest := i, level[i]
		for i < len(level)-1 && middle-level[i] >= limit {
			deepest = min(deepest, level[i])
			i++
		}
		dips = append(dips, dip{at: float64(start*hop) / scale, seconds: float64((i-start)*hop) / scale, db: 20 * math.Log10(max(deepest, 1e-9)/middle)})
	}
	return dips, 20 * math.Log10(highest/lowest)
}

func decibels(power float64) float64 {
	return 10 * math.Log10(max(power, 1e-20))
}
