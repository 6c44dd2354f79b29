package spectrum

import (
	"math"
	"sort"
)

// Result is the shape of a spectrum. It does not change with gain or polarity. Of silence every frequency and share
// is 0 and every level minus infinity.
type Result struct {
	Total       float64     // power of all that counts (from 10 Hz up, with the low end measured), full-scale sine 0.5
	CentroidHz  float64     // sum f p / sum p
	SpreadHz    float64     // square root of sum (f - centroid)^2 p / sum p
	Rolloff85Hz float64     // lowest bin at or below which 85 % of the power lies
	Flatness    float64     // geometric over arithmetic mean of the bins from 20 Hz to 20 kHz: 0 a line .. 1 flat
	OctaveDB    [10]float64 // IEC 61260-1 octave bands, 31.5 Hz to 16 kHz, relative to Total
	BelowDB     float64     // what lies below the lowest octave, relative to Total
	AboveDB     float64     // what lies above the highest octave, relative to Total
	Register    [7]float64  // shares of Total: sub, low, low-mid, mid, upper-mid, presence, air; they add up to 1
}

const (
	// firstBin is the lowest bin of the stream's frames that counts. Bin 0 holds the constant part of the signal, which a Hann window
	// spreads into bin 1 and no further; neither is sound (bin 1 lies at 12 Hz or below).
	firstBin = 2
	// rolloffShare is the share of librosa's spectral_rolloff, taken of power.
	rolloffShare = 0.85
	// flatnessFloor keeps empty bins from forcing the geometric mean to 0: 100 dB below the mean, which is the floor
	// of librosa's spectral_flatness for a mean of 1, made relative so that gain has no influence.
	flatnessFloor = 1e-10
	// residue is the share of the whole power below which what is left beside the constant part is rounding.
	residue = 1e-12
)

// registerEdgesHz part the registers. Common practice, no source.
var registerEdgesHz = [8]float64{0, 60, 250, 500, 2000, 4000, 8000, math.Inf(1)}

// RegisterNames names the registers of Result.Register, from low to high.
var RegisterNames = [7]string{"sub", "low", "low_mid", "mid", "upper_mid", "presence", "air"}

// OctaveNominalHz holds the nominal mid-band frequencies (ISO 266) of Result.OctaveDB.
var OctaveNominalHz = [10]float64{31.5, 63, 125, 250, 500, 1000, 2000, 4000, 8000, 16000}

// OctaveEdgesHz returns the eleven exact edges of the ten octave bands of IEC 61260-1:2014, base ten: mid-band
// frequencies 1000 G^x for x = -5..4, edges half an octave G^(1/2) to either side, G = 10^(3/10).
func OctaveEdgesHz() [11]float64 {
	var edges [11]float64
	for i := range edges {
		edges[i] = 1000 * math.Pow(10, 0.3*(float64(i)-5.5))
	}
	return edges
}

// cell is a piece of a power spectrum: the power of the frequencies from low to high.
type cell struct{ low, high, power float64 }

// centre is the frequency the power of a cell stands for.
func (c cell) centre() float64 { return (c.low + c.high) / 2 }

// Shape measures a one-sided power spectrum of bins 0..n/2 at k*sampleRateHz/n Hz. The two lowest bins (the constant
// part of the signal) do not count. A bin stands for the frequencies up to half a bin to either side of it; where a
// band edge cuts a bin its power is divided in proportion, so that bands, with BelowDB and AboveDB, add up to the
// total. The 16 kHz octave reaches up to 22387 Hz and ends at half the sample rate where that is lower; bands wholly
// above half the rate are empty.
func Shape(power []float64, sampleRateHz int) Result {
	width := float64(sampleRateHz) / float64(2*(len(power)-1))
	return shape(power, width, cells(power, width, func(float64) float64 { return 1 }))
}

// cells are the bins of a spectrum from firstBin up, each with the share of its power that weight gives.
func cells(power []float64, width float64, weight func(hz float64) float64) []cell {
	out := make([]cell, 0, len(power))
	for k := firstBin; k < len(power); k++ {
		hz := float64(k) * width
		out = append(out, cell{hz - width/2, hz + width/2, power[k] * weight(hz)})
	}
	return out
}

// shape measures a spectrum in cells of ascending frequency. power holds the bins of the stream's frames, for what is
// measured on equal bins.
func shape(power []float64, width float64, cells []cell) Result {
	r := Result{BelowDB: math.Inf(-1), AboveDB: math.Inf(-1)}
	for i := range r.OctaveDB {
		r.OctaveDB[i] = math.Inf(-1)
	}
	var constant, total, moment float64
	for _, p := range power[:min(firstBin, len(power))] {
		constant += p
	}
	for _, c := range cells {
		total += c.power
		moment += c.centre() * c.power
	}
	if total <= residue*constant || total == 0 {
		return r
	}
	mean := moment / total
	var variance, below float64
	for _, c := range cells {
		d := c.centre() - mean
		variance += d * d * c.power
		if below < rolloffShare*total {
			below += c.power
			r.Rolloff85Hz = c.centre()
		}
	}
	r.Total = total
	r.CentroidHz = mean
	r.SpreadHz = math.Sqrt(variance / total)
	r.Flatness = flatness(power, width)

	nyquist := width * float64(len(power)-1)
	edges := OctaveEdgesHz()
	parts := split(cells, nyquist, edges[:])
	r.BelowDB = decibels(parts[0] / total)
	r.AboveDB = decibels(parts[len(edges)] / total)
	for i := range r.OctaveDB {
		r.OctaveDB[i] = decibels(parts[i+1] / total)
	}
	parts = split(cells, nyquist, registerEdgesHz[1:7])
	for i := range r.Register {
		r.Register[i] = parts[i] / total
	}
	return r
}

func decibels(ratio float64) float64 { return 10 * math.Log10(ratio) }

// flatness compares the bins from 20 Hz to 20 kHz, at any sample rate the same part of the spectrum. The line at half
// the rate is left out, as it is half a bin.
func flatness(power []float64, width float64) float64 {
	from, to := max(firstBin, int(math.Ceil(20/width))), min(len(power)-1, int(20000/width)+1)
	if from >= to {
		return 0
	}
	bins := power[from:to]
	var sum, logs float64
	for _, p := range bins {
		sum += p
	}
	if sum == 0 {
		return 0
	}
	mean := sum / float64(len(bins))
	for _, p := range bins {
		logs += math.Log(p/mean + flatnessFloor)
	}
	return min(1, math.Exp(logs/float64(len(bins))))
}

// split divides the power at ascending edges in hertz: element 0 lies below the first edge, the last above the last. The
// cell at half the rate covers only its lower half.
func split(cells []cell, nyquist float64, edges []float64) []float64 {
	parts := make([]float64, len(edges)+1)
	for _, c := range cells {
		low, high := c.low, min(c.high, nyquist)
		at := sort.SearchFloat64s(edges, low) // the first edge at or above the cell's lower end
		whole := high - low
		for at < len(edges) && edges[at] < high {
			parts[at] += c.power * (edges[at] - low) / whole
			low = edges[at]
			at++
		}
		parts[at] += c.power * (high - low) / whole
	}
	return parts
}
