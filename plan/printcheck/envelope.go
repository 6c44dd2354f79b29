package printcheck

import (
	"math"
	"slices"
)

// envelope follows the level of mix and print in one band, in steps of 10 ms: a high-pass and a low-pass of second order
// (Butterworth) on the sum of both sides.
type envelope struct {
	step   float64 // frames of 10 ms
	filter [2][2]biquad
	level  [2][]float64 // mean squares: mix, print
	sum    [2]float64
	count  float64
	due    float64
}

// biquad is a second-order section in transposed form.
type biquad struct{ b0, b1, b2, a1, a2, s1, s2 float64 }

// butterworth is a low-pass, or a high-pass, by the bilinear transform.
func butterworth(rate int, hz float64, high bool) biquad {
	k := math.Tan(math.Pi * hz / float64(rate))
	n := 1 / (1 + math.Sqrt2*k + k*k)
	f := biquad{b0: k * k * n, b1: 2 * k * k * n, a1: 2 * (k*k - 1) * n, a2: (1 - math.Sqrt2*k + k*k) * n}
	if high {
		f.b0, f.b1 = n, -2*n
	}
	f.b2 = f.b0
	return f
}

func (f *biquad) next(x float64) float64 {
	y := f.b0*x + f.s1
	f.s1 = f.b1*x - f.a1*y + f.s2
	f.s2 = f.b2*x - f.a2*y
	return y
}

func newEnvelope(rate int, low, high float64) *envelope {
	e := &envelope{step: float64(rate) / 100}
	for s := range e.filter {
		e.filter[s] = [2]biquad{butterworth(rate, low, true), butterworth(rate, high, false)}
	}
	return e
}

func (e *envelope) begin() {
	for s := range 2 {
		for i := range 2 {
			e.filter[s][i].s1, e.filter[s][i].s2 = 0, 0
		}
		e.level[s] = e.level[s][:0]
	}
	e.sum, e.count, e.due = [2]float64{}, 0, e.step
}

func (e *envelope) write(x, y [2][]float32) {
	// Filters are copied into locals: the loop runs over every sample of the song.
	xh, xl, yh, yl := e.filter[0][0], e.filter[0][1], e.filter[1][0], e.filter[1][1]
	for i := range x[0] {
		a := xl.next(xh.next(float64(x[0][i] + x[1][i])))
		b := yl.next(yh.next(float64(y[0][i] + y[1][i])))
		e.sum[0] += a * a
		e.sum[1] += b * b
		if e.count++; e.count >= e.due {
			n := e.count
			e.level[0], e.level[1] = append(e.level[0], e.sum[0]/n), append(e.level[1], e.sum[1]/n)
			e.due += e.step - n
			e.sum, e.count = [2]float64{}, 0
		}
	}
	e.filter[0][0], e.filter[0][1], e.filter[1][0], e.filter[1][1] = xh, xl, yh, yl
}

// settled is how many steps the filters need to start.
const settled = 10

// hit is one stroke in the band: by how much mix and print have fallen 80 to 200 ms after its peak, in dB (negative).
type hit struct{ mix, print float64 }

// hits finds the strokes of the mix: a rise of 6 dB within 50 ms to a peak, with nothing louder within 120 ms after it.
func (e *envelope) hits() []hit {
	const (
		rise  = 4.0 // times in power
		back  = 5
		ahead = 12
		from  = 8
		to    = 20
		quiet = 1e-4 // below the loudest: not a stroke
	)
	x, y := e.level[0], e.level[1]
	if len(x) < settled+to {
		return nil
	}
	top := slices.Max(x[settled:])
	var out []hit
	for i := settled + back; i+to < len(x); i++ {
		if x[i] < quiet*top || x[i] < rise*x[i-back] || x[i] < slices.Max(x[i-back:i]) || x[i] < slices.Max(x[i+1:i+ahead]) {
			continue
		}
		fall := func(s []float64) float64 {
			var peak, rest float64
			for _, v := range s[i-1 : i+2] {
				peak += v / 3
			}
			for _, v := range s[i+from : i+to] {
				rest += v / (to - from)
			}
			return 10 * math.Log10((rest+1e-20)/(peak+1e-20))
		}
		out = append(out, hit{fall(x), fall(y)})
	}
	return out
}

// spikes is how far the highest twentieth of the levels stands above the middle, in dB, for mix and print.
func (e *envelope) spikes() (out [2]float64, ok bool) {
	if len(e.level[0]) < settled+50 {
		return out, false
	}
	top := slices.Max(e.level[0][settled:])
	if top <= 1e-14 {
		return out, false
	}
	for s := range 2 {
		var levels []float64
		for i, v := range e.level[s][settled:] {
			if e.level[0][settled+i] > top*1e-6 { // where the mix rests there is nothing to be smooth
				levels = append(levels, v)
			}
		}
		if len(levels) < 30 {
			return out, false
		}
		slices.Sort(levels)
		middle := levels[len(levels)/2]
		if middle <= 0 {
			return out, false
		}
		out[s] = 10 * math.Log10(levels[len(levels)*95/100]/middle)
	}
	return out, true
}
