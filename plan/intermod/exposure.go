package intermod

import "math"

// Exposure is what the channel adds to one pair. Levels are in dB re the power of the pair's material; minus infinity
// means nothing. The own bands are the third-octave bands in which the pair's material is strong, see Of.
//
// SharedDB compares folds: it falls as tracks are spread over more pairs, and for a given number of pairs depends on how
// even their levels are far more than on their registers. OutsideDB and MutualDB count only what the material does not
// cover, so that a pair that fills the whole spectrum has little or none of it; they compare pairs of like content.
type Exposure struct {
	OutsideDB float64 // harmonics and intermodulation products outside the material's own bands
	MutualDB  float64 // that part of it which is there only because the tracks share the channel
	SharedDB  float64 // all products that are there only because the tracks share the channel, in the own bands too
	TotalDB   float64 // all that is added, in the own bands too, but for what merely changes the gain
}

// ownBelowDB bounds the own bands: third-octave bands in which the material is less than this below its strongest band.
// Products there are covered by the material itself (chosen: the simultaneous masking of noise by noise ends some 20 to
// 30 dB below the masker).
const ownBelowDB = 30.0

// Of returns the exposure of a pair whose tracks are given; nil materials count as silence. The sum of the tracks has
// the power of a sine at the operating level, 1/2, when it passes.
//
// With x the sum and x_i the tracks, the mutual part is A(x) - sum of A(x_i), where A is what the channel adds: the
// products of different tracks with one another. What is added along x itself (x^3 of noise is mostly x again, a change
// of gain) is taken out by least squares before anything is measured.
func (c Channel) Of(tracks []*Material) Exposure {
	none := Exposure{math.Inf(-1), math.Inf(-1), math.Inf(-1), math.Inf(-1)}
	sum := make([]float64, samples)
	var bands [thirds]float64
	sounding := 0
	for _, t := range tracks {
		if t == nil {
			continue
		}
		sounding++
		for i, v := range t.wave {
			sum[i] += v
		}
		for b, p := range t.power {
			bands[b] += p
		}
	}
	var power float64
	for _, v := range sum {
		power += v * v
	}
	power /= samples
	if sounding == 0 || !(power > 0) {
		return none
	}
	gain := math.Sqrt(0.5 / power)
	added := make([]float64, samples)
	for i, v := range sum {
		sum[i] = v * gain
		added[i] = c.Added(sum[i])
	}
	mutual := append([]float64(nil), added...)
	for _, t := range tracks {
		if t == nil {
			continue
		}
		for i, v := range t.wave {
			mutual[i] -= c.Added(v * gain)
		}
	}
	if sounding == 1 {
		clear(mutual)
	}
	own := ownBands(bands)
	takeOut(added, sum)
	takeOutEach(mutual, tracks)
	var e Exposure
	e.OutsideDB, e.TotalDB = outside(added, own)
	e.MutualDB, e.SharedDB = outside(mutual, own)
	return e
}

// ownBands tells in which bands the material itself is strong.
func ownBands(bands [thirds]float64) [thirds]bool {
	var top float64
	for _, p := range bands {
		top = max(top, p)
	}
	var own [thirds]bool
	for b, p := range bands {
		own[b] = p > top*math.Pow(10, -ownBelowDB/10)
	}
	return own
}

// takeOut subtracts from y what is proportional to x.
func takeOut(y, x []float64) {
	var xy, xx float64
	for i := range x {
		xy += x[i] * y[i]
		xx += x[i] * x[i]
	}
	if xx > 0 {
		for i := range y {
			y[i] -= xy / xx * x[i]
		}
	}
}

// takeOutEach takes the change of gain of every track out of the mutual products.
func takeOutEach(y []float64, tracks []*Material) {
	for _, t := range tracks {
		if t != nil {
			takeOut(y, t.wave)
		}
	}
}

// outside returns the level of y outside the own bands, and in all bands, from 20 Hz to 20 kHz, re a power of 1/2.
func outside(y []float64, own [thirds]bool) (out, all float64) {
	var o, a float64
	for k, p := range Spectrum(y)[:len(thirdTable)] {
		if float64(k)*binHz < 20 {
			continue
		}
		a += p
		if !own[thirdTable[k]] {
			o += p
		}
	}
	return db(o / 0.5), db(a / 0.5)
}

func db(ratio float64) float64 {
	if ratio < 1e-15 {
		return math.Inf(-1)
	}
	return 10 * math.Log10(ratio)
}
