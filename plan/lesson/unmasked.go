package lesson

import (
	"math"

	"gonum.org/v1/gonum/dsp/fourier"

	"foldout/plan/channel"
)

// The masking model: spectra of short frames on the Bark scale, spread by Terhardt's triangles.
const (
	window       = 2048
	barkBands    = 24
	listeningSPL = 83.0 // dB, of loud passages of the mix (common practice for mixing, no source)
	lowerSlope   = 27.0 // dB/Bark below a masker, at all levels (Terhardt 1979)
	inaudible    = 1e-9 // power re loud passages: 90 dB below them, near the threshold of hearing
	offsetDB     = 10.0 // what is covered lies so far below the spread masker: between noise, some 5, and tones, some 15 (chosen)
)

// Unmasked is what the channels add that the mix does not cover.
type Unmasked struct {
	AddedDB float64 // all that is added, but for changes of gain, re the mix
	RatioDB float64 // added to masked threshold: mean over the bands of a frame, then the middle frame; below 0 it is covered
	Cells   float64 // share of the Bark bands of all frames, as far as the mix sounds there, in which something is above it
}

// Unmasked passes every pair through the channel at the operating level plus driveDB, turns it back to its own level, and
// compares what was added with the masking of the whole mix.
func (e *Excerpt) Unmasked(pair []int, pairs int, c channel.Channel, driveDB float64) Unmasked {
	n := e.frames()
	mix, added := make([]float64, n), make([]float64, n)
	for q, gain := range e.Gains(pair, pairs, driveDB) {
		if gain == 0 {
			continue
		}
		x := e.sum(pair, q)
		d := make([]float64, n)
		var xx, xd float64
		for i, v := range x {
			mix[i] += v
			d[i] = c.Added(gain*v) / gain
			xx, xd = xx+v*v, xd+v*d[i]
		}
		for i, v := range x { // what is added along the signal is a change of gain
			added[i] += d[i] - xd/xx*v
		}
	}
	return compare(mix, added, e.RateHz)
}

// compare judges the added signal beside the mix.
func compare(mix, added []float64, rateHz int) Unmasked {
	b := newBark(rateHz)
	var mixes, addeds [][barkBands]float64
	var loud []float64
	for from := 0; from+window <= len(mix); from += window / 2 {
		m, a := b.power(mix[from:from+window]), b.power(added[from:from+window])
		mixes, addeds = append(mixes, m), append(addeds, a)
		loud = append(loud, total(m))
	}
	var all, extra float64
	var ratios []float64
	cells, over := 0, 0
	reference := quantile(loud, loudQuantile)
	for k := range mixes {
		if total(mixes[k]) < reference*1e-6 { // a pause
			continue
		}
		threshold := spread(mixes[k], listeningSPL-10*math.Log10(reference))
		all += total(mixes[k])
		var ratio float64
		sounding := 0
		for z, a := range addeds[k] {
			extra += a
			if math.Max(mixes[k][z], a) > reference*inaudible {
				sounding++
				ratio += a / threshold[z]
				if a > threshold[z] {
					over++
				}
			}
		}
		cells += sounding
		if sounding > 0 {
			ratios = append(ratios, 10*math.Log10(ratio/float64(sounding)))
		}
	}
	if all <= 0 {
		return Unmasked{AddedDB: math.Inf(-1), RatioDB: math.Inf(-1)}
	}
	return Unmasked{AddedDB: 10 * math.Log10(extra/all), RatioDB: quantile(ratios, 0.5), Cells: float64(over) / float64(max(1, cells))}
}

// spread is the masked threshold of a frame's band powers; their level in dB SPL is 10 log10 of the power plus toSPL. A
// masker falls off by 27 dB per Bark downwards and by 24 + 0.23/(f/kHz) - 0.2 L upwards (Maiwald 1967, Terhardt 1979).
func spread(power [barkBands]float64, toSPL float64) (out [barkBands]float64) {
	for m, p := range power {
		if p <= 0 {
			continue
		}
		level := 10*math.Log10(p) + toSPL
		upper := math.Max(1, 24+0.23/(barkCentreHz(m)/1000)-0.2*level)
		for z := range out {
			fall := lowerSlope * float64(m-z)
			if z > m {
				fall = upper * float64(z-m)
			}
			out[z] += p * math.Pow(10, -(fall+offsetDB)/10)
		}
	}
	return out
}

// barkOf is the critical-band rate (Zwicker and Terhardt 1980).
func barkOf(hz float64) float64 {
	return 13*math.Atan(0.76*hz/1000) + 3.5*math.Atan(math.Pow(hz/7500, 2))
}

// barkCentreHz inverts barkOf at the middle of a band.
func barkCentreHz(band int) float64 {
	low, high := 1.0, 20000.0
	for range 50 {
		if mid := (low + high) / 2; barkOf(mid) < float64(band)+0.5 {
			low = mid
		} else {
			high = mid
		}
	}
	return low
}

// bark sorts the lines of a spectrum into bands.
type bark struct {
	fft  *fourier.FFT
	hann [window]float64
	band [window/2 + 1]int
}

func newBark(rateHz int) *bark {
	b := &bark{fft: fourier.NewFFT(window)}
	for i := range b.hann {
		b.hann[i] = math.Sqrt(2.0/3) * (1 - math.Cos(2*math.Pi*float64(i)/window))
	}
	for k := range b.band {
		hz := float64(k) * float64(rateHz) / window
		b.band[k] = min(barkBands-1, int(barkOf(hz)))
		if k == 0 || hz > 16000 {
			b.band[k] = -1
		}
	}
	return b
}

// power returns the mean square in each band, window taken into account.
func (b *bark) power(x []float64) (out [barkBands]float64) {
	var w [window]float64
	for i, v := range x {
		w[i] = v * b.hann[i]
	}
	for k, c := range b.fft.Coefficients(nil, w[:]) {
		if z := b.band[k]; z >= 0 {
			out[z] += 2 * (real(c)*real(c) + imag(c)*imag(c)) / window / window
		}
	}
	return out
}

func total(v [barkBands]float64) (sum float64) {
	for _, p := range v {
		sum += p
	}
	return sum
}
