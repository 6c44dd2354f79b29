package stems

import (
	"fmt"
	"math"
	"math/cmplx"
	"sort"
	"strings"

	"gonum.org/v1/gonum/dsp/fourier"
	"gonum.org/v1/gonum/stat"

	"foldout/features"
	"foldout/features/spectrum"
)

// Octave is one octave band of the residual and of the way from sum to mix.
type Octave struct {
	Hz         float64     `json:"hz"`          // nominal, ISO 266
	ResidualDB features.DB `json:"residual_db"` // against the mix in the same band
	GainDB     features.DB `json:"gain_db"`     // of the mix against the sum, as far as they are coherent
	Coherence  float64     `json:"coherence"`   // 0..1
	share      float64     // of the mix's power
}

const processFrame = 4096

// processing describes what stands between sum and mix when nothing plain does: a gain that follows the level, a gain that
// follows frequency, or something that is not even coherent.
func (e *evidence) processing() *Reason {
	r := &Reason{Kind: KindProcessing, Remains: features.DB(e.level(e.residual())), OctaveDB: e.octaves()}
	coherence, low, high := 0.0, math.Inf(1), math.Inf(-1)
	for _, o := range r.OctaveDB {
		coherence += o.share * o.Coherence
		if o.share > 1e-3 && o.Coherence > 0.5 {
			low, high = min(low, float64(o.GainDB)), max(high, float64(o.GainDB))
		}
	}
	drop, steady := e.dynamics()
	switch {
	case coherence < 0.3:
		r.Kind, r.Text = KindOther, fmt.Sprintf("the mix has little to do with these tracks (coherence %.2f): another song, another arrangement, or other takes", coherence)
	case drop >= 0.5 && steady:
		r.Kind = KindDynamics
		r.Text = fmt.Sprintf("the gain of the mix follows its level, by %.1f dB less in loud passages than in quiet ones: a compressor or limiter on the mix", drop)
	case coherence > 0.8 && high-low >= 0.5:
		r.Kind = KindFilter
		r.Text = "the gain of the mix depends on frequency: an equaliser or filter on the mix, " + r.extremes()
	default:
		r.Text = fmt.Sprintf("processing on the mix or on tracks that neither gain, delay nor single tracks explain (coherence %.2f), %s", coherence, r.strongest())
	}
	return r
}

// extremes names the octaves with the highest and the lowest gain.
func (r *Reason) extremes() string {
	list := append([]Octave{}, r.OctaveDB...)
	sort.SliceStable(list, func(a, b int) bool { return list[a].GainDB > list[b].GainDB })
	var ends []Octave
	for _, o := range list {
		if o.share > 1e-3 && o.Coherence > 0.5 {
			ends = append(ends, o)
		}
	}
	top, bottom := ends[0], ends[len(ends)-1]
	return fmt.Sprintf("%+.1f dB around %g Hz, %+.1f dB around %g Hz", float64(top.GainDB), top.Hz, float64(bottom.GainDB), bottom.Hz)
}

// strongest names the octaves in which the residual stands highest against the mix.
func (r *Reason) strongest() string {
	list := append([]Octave{}, r.OctaveDB...)
	sort.SliceStable(list, func(a, b int) bool { return list[a].ResidualDB > list[b].ResidualDB })
	var parts []string
	for _, o := range list {
		if o.share > 1e-3 && len(parts) < 3 {
			parts = append(parts, fmt.Sprintf("%+.1f dB around %g Hz", float64(o.ResidualDB), o.Hz))
		}
	}
	return "the residual against the mix is strongest at " + strings.Join(parts, ", ")
}

// octaves compares sum and mix by Welch's method (1967): Hann window, half overlap, within the passages.
func (e *evidence) octaves() []Octave {
	const bins = processFrame/2 + 1
	var xx, yy, rr [bins]float64
	var xy [bins]complex128
	fft := fourier.NewFFT(processFrame)
	x, y := make([]float64, processFrame), make([]float64, processFrame)
	X, Y := make([]complex128, bins), make([]complex128, bins)
	for k := range e.starts {
		for side := range e.sum {
			for at := 0; at+processFrame <= passageFrames; at += processFrame / 2 {
				from := k*passageFrames + at
				for i := range x {
					w := 0.5 - 0.5*math.Cos(2*math.Pi*float64(i)/processFrame)
					x[i], y[i] = w*float64(e.sum[side][from+i]), w*float64(e.mix[side][from+i])
				}
				X, Y = fft.Coefficients(X, x), fft.Coefficients(Y, y)
				for i := range X {
					xx[i] += sq(X[i])
					yy[i] += sq(Y[i])
					rr[i] += sq(X[i] - Y[i])
					xy[i] += cmplx.Conj(X[i]) * Y[i]
				}
			}
		}
	}
	total := 0.0
	for _, v := range yy {
		total += v
	}
	var list []Octave
	for _, hz := range spectrum.OctaveNominalHz {
		o := Octave{Hz: hz}
		var px, py, pr, pc, pg float64
		step := float64(e.c.session.RateHz) / processFrame
		for i := max(int(hz/math.Sqrt2/step), 1); i < bins && float64(i)*step < hz*math.Sqrt2; i++ {
			px, py, pr = px+xx[i], py+yy[i], pr+rr[i]
			if xx[i] > 0 && yy[i] > 0 {
				pc += sq(xy[i]) / xx[i] // what of the mix is coherent with the sum
				pg += sq(xy[i]) / xx[i]
			}
		}
		if px == 0 || py == 0 {
			continue
		}
		o.share = py / max(total, 1e-300)
		o.Coherence = min(pc/py, 1)
		o.GainDB = features.DB(10 * math.Log10(pg/px))
		o.ResidualDB = features.DB(10 * math.Log10(pr/py))
		list = append(list, o)
	}
	return list
}

func sq(c complex128) float64 { return real(c)*real(c) + imag(c)*imag(c) }

// dynamics fits the gain from sum to mix, frame by frame, against the level of the sum. drop is how much less gain the
// loudest frames get than those 20 dB below (or the quietest there are); steady if gain and level go together.
func (e *evidence) dynamics() (drop float64, steady bool) {
	var levels, gains []float64
	for at := 0; at+processFrame <= len(e.sum[0]); at += processFrame {
		var ss, mm float64
		for side := range e.sum {
			for i := at; i < at+processFrame; i++ {
				a, b := float64(e.sum[side][i]), float64(e.mix[side][i])
				ss += a * a
				mm += b * b
			}
		}
		if ss > 0 && mm > 0 {
			levels, gains = append(levels, 10*math.Log10(ss)), append(gains, 10*math.Log10(mm/ss))
		}
	}
	if len(levels) < 8 {
		return 0, false
	}
	top := levels[0]
	for _, v := range levels {
		top = max(top, v)
	}
	var x, y []float64
	bottom := top
	for i, v := range levels {
		if v > top-20 {
			x, y = append(x, v), append(y, gains[i])
			bottom = min(bottom, v)
		}
	}
	if len(x) < 8 || top-bottom < 1 {
		return 0, false
	}
	_, slope := stat.LinearRegression(x, y, nil, false)
	return -slope * (top - bottom), stat.Correlation(x, y, nil) < -0.6
}
