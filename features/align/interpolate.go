package align

import "math"

// Interpolator reads a signal between its samples with a sinc under a Kaiser window. It is safe for use by several
// goroutines.
//
// With 32 taps to either side it is flat within 0.001 dB up to 0.9 of half the rate, and what it adds lies 90 dB under
// the signal. Memory: one table of phases.
type Interpolator struct {
	half  int // taps to either side, before stretching
	reach int // taps to either side in samples of the source
	table []float32
	width int
}

const (
	phases     = 512
	kaiserBeta = 10.0
)

// NewInterpolator makes one with taps to either side (at least 4) for reading at steps of so many samples: 1 for a
// delay or a drift, rate in / rate out for a change of rate. Where step is above 1 the band is narrowed to what the
// coarser rate can hold, and taps grow in proportion.
func NewInterpolator(taps int, step float64) *Interpolator {
	taps = max(4, taps)
	stretch := max(1, step)
	if stretch < 1.01 {
		stretch = 1 // a drift of the clock narrows nothing
	}
	in := &Interpolator{half: taps, reach: int(math.Ceil(float64(taps) * stretch))}
	in.width = 2 * in.reach
	// Row p holds the weights of samples -reach+1 .. reach around a place p/phases of the way to the next sample.
	in.table = make([]float32, (phases+1)*in.width)
	for p := range phases + 1 {
		row := in.table[p*in.width : (p+1)*in.width]
		sum := 0.0
		w := make([]float64, in.width)
		for k := range w {
			t := (float64(k-in.reach+1) - float64(p)/phases) / stretch
			w[k] = sinc(t) * kaiser(t/float64(taps)) / stretch
			sum += w[k]
		}
		for k := range w {
			row[k] = float32(w[k] / sum) // a constant stays what it is
		}
	}
	return in
}

// At reads x at a place between its samples. Outside, x counts as silence.
func (in *Interpolator) At(x []float64, place float64) float64 {
	if math.IsNaN(place) || place < -float64(in.reach) || place > float64(len(x)+in.reach) {
		return 0
	}
	base := math.Floor(place)
	f := (place - base) * phases
	p := min(int(f), phases-1)
	b := f - float64(p)
	a := 1 - b
	row := in.table[p*in.width : (p+2)*in.width]
	first := int(base) - in.reach + 1
	lo, hi := max(0, -first), min(in.width, len(x)-first)
	if lo >= hi {
		return 0
	}
	one, two, src := row[lo:hi], row[in.width+lo:in.width+hi], x[first+lo:first+hi]
	var s, t float64
	for k, v := range src {
		s += v * float64(one[k])
		t += v * float64(two[k])
	}
	return a*s + b*t
}

// Read fills dst with x at start, start+step, start+2 step and so on.
func (in *Interpolator) Read(dst, x []float64, start, step float64) {
	for i := range dst {
		dst[i] = in.At(x, start+float64(i)*step)
	}
}

func sinc(t float64) float64 {
	if math.Abs(t) < 1e-9 {
		return 1
	}
	return math.Sin(math.Pi*t) / (math.Pi * t)
}

// kaiser is the Kaiser window for t from -1 to 1, 0 outside.
func kaiser(t float64) float64 {
	if t < -1 || t > 1 {
		return 0
	}
	return bessel0(kaiserBeta*math.Sqrt(1-t*t)) / bessel0(kaiserBeta)
}

// bessel0 is the modified Bessel function of order 0, by its power series.
func bessel0(x float64) float64 {
	sum, term := 1.0, 1.0
	for k := 1.0; term > 1e-17*sum; k++ {
		term *= (x / (2 * k)) * (x / (2 * k))
		sum += term
	}
	return sum
}
