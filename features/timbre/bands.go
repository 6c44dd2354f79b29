package timbre

import "math"

const (
	bandCount    = 36 // bands equally wide on the ERB-rate scale
	bandLowHz    = 30
	bandHighHz   = 16000
	coefficients = 15 // cepstral coefficients kept, c0 .. c14
	registers    = 6
	bandFloor    = 1e-7 // -70 dB re the frame's power
)

// registerEdgesHz are the borders between the six registers (chosen for instruments' ranges: kick and bass below 120,
// bodies 120-400, vowels' first and second resonance, bite, sibilance, air).
var registerEdgesHz = [registers + 1]float64{0, 120, 400, 1200, 3500, 8000, math.MaxFloat64}

// erbRate is the ERB-rate scale of Glasberg and Moore (1990), Hearing Research 47, 103-138.
func erbRate(hz float64) float64 { return 21.4 * math.Log10(1+0.00437*hz) }

func erbRateHz(e float64) float64 { return (math.Pow(10, e/21.4) - 1) / 0.00437 }

// filterbank sums the bins of a power spectrum into bands with rectangular edges; a bin cut by an edge is shared.
type filterbank struct {
	first   [bandCount]int     // first whole bin
	last    [bandCount]int     // one past the last whole bin
	below   [bandCount]float64 // share of bin first-1
	above   [bandCount]float64 // share of bin last
	centres [bandCount]float64 // Hz
	cosine  [coefficients][bandCount]float64
	regBin  [registers + 1]int
}

func newFilterbank(binHz float64, bins int) *filterbank {
	b := &filterbank{}
	lo, hi := erbRate(bandLowHz), erbRate(bandHighHz)
	edge := func(i int) float64 { return erbRateHz(lo + (hi-lo)*float64(i)/bandCount) }
	for i := range bandCount {
		b.centres[i] = math.Sqrt(edge(i) * edge(i+1))
		// bin k covers k-0.5 .. k+0.5 in units of the bin width
		from, to := edge(i)/binHz+0.5, edge(i+1)/binHz+0.5
		f, l := int(math.Ceil(from)), int(math.Floor(to))
		if f > l { // the band lies inside one bin
			b.first[i], b.last[i] = l, l
			b.above[i] = to - from
		} else {
			b.first[i], b.last[i] = f, l
			b.below[i], b.above[i] = float64(f)-from, to-float64(l)
		}
		if b.last[i] >= bins { // beyond the Nyquist frequency
			b.above[i] = 0
			b.last[i] = bins
			if b.first[i] > bins {
				b.first[i], b.below[i] = bins, 0
			}
		}
	}
	for c := range coefficients {
		for i := range bandCount {
			b.cosine[c][i] = math.Cos(math.Pi/bandCount*(float64(i)+0.5)*float64(c)) / bandCount
		}
	}
	for r := 1; r <= registers; r++ {
		b.regBin[r] = int(math.Min(float64(bins), math.Round(registerEdgesHz[r]/binHz)))
	}
	return b
}

// sum writes the band powers of one frame.
func (b *filterbank) sum(dst *[bandCount]float64, power []float32) {
	for i := range dst {
		f, l := b.first[i], b.last[i]
		var s, t float32
		k := f
		for ; k+1 < l; k += 2 {
			s += power[k]
			t += power[k+1]
		}
		if k < l {
			s += power[k]
		}
		v := float64(s) + float64(t)
		if b.below[i] > 0 {
			v += b.below[i] * float64(power[f-1])
		}
		if b.above[i] > 0 {
			v += b.above[i] * float64(power[l])
		}
		dst[i] = v
	}
}

// cepstrum is the cosine transform of the bands' decibels re the frame's power.
func (b *filterbank) cepstrum(dst *[coefficients]float64, bands *[bandCount]float64, total float64) {
	var db [bandCount]float64
	for i, v := range bands {
		db[i] = 10 * math.Log10(v/total+bandFloor)
	}
	for c := range dst {
		var s float64
		row := &b.cosine[c]
		for i := range db {
			s += row[i] * db[i]
		}
		dst[c] = s
	}
}
