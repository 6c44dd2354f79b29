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
	width   [bandCount]float64 // bins, whole and shared
	cosine  [bandCount][coefficients]float64
	reg     [registers + 1]int // first band of each register
	bins    int
}

func newFilterbank(binHz float64, bins int) *filterbank {
	b := &filterbank{bins: bins}
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
	for i := range bandCount {
		b.width[i] = float64(max(0, b.last[i]-b.first[i])) + b.below[i] + b.above[i]
		for c := range coefficients {
			b.cosine[i][c] = math.Cos(math.Pi/bandCount*(float64(i)+0.5)*float64(c)) / bandCount
		}
	}
	for r := 1; r <= registers; r++ {
		for b.reg[r] = b.reg[r-1]; b.reg[r] < bandCount && b.centres[b.reg[r]] < registerEdgesHz[r]; {
			b.reg[r]++
		}
	}
	return b
}

// sum writes the band powers of one frame, and for each band the sum of the bins' squares.
func (b *filterbank) sum(dst, squares *[bandCount]float64, power []float32) {
	for i := range dst {
		var s0, s1, q0, q1 float64
		f := b.first[i]
		bins := power[min(f, b.last[i]):b.last[i]]
		for ; len(bins) >= 2; bins = bins[2:] {
			u, v := float64(bins[0]), float64(bins[1])
			s0 += u
			s1 += v
			q0 += u * u
			q1 += v * v
		}
		if len(bins) > 0 {
			u := float64(bins[0])
			s0 += u
			q0 += u * u
		}
		if b.below[i] > 0 {
			u := float64(power[f-1])
			s1 += b.below[i] * u
			q1 += b.below[i] * u * u
		}
		if b.above[i] > 0 {
			u := float64(power[b.last[i]])
			s0 += b.above[i] * u
			q0 += b.above[i] * u * u
		}
		dst[i], squares[i] = s0+s1, q0+q1
	}
}

// cepstrum is the cosine transform of the bands' decibels re the frame's power.
func (b *filterbank) cepstrum(dst *[coefficients]float64, bands *[bandCount]float64, total float64) {
	clear(dst[:])
	for i, v := range bands {
		db := 10 / math.Ln10 * math.Log(v/total+bandFloor)
		row := &b.cosine[i]
		for c := range dst {
			dst[c] += row[c] * db
		}
	}
}
