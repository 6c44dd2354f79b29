package main

import (
	"math"
	"math/rand/v2"
)

// vary returns a changed copy of a track: another piece of it, another speed (pitch and
// resonances move together), tilt, low and high cut, compression, a room, a noise floor.
func vary(in [][]float32, rate int, r *rand.Rand) [][]float32 {
	x := piece(in, rate, r)
	if r.Float64() < 0.6 {
		x = speed(x, math.Exp2((r.Float64()*2-1)*4/12))
	}
	if r.Float64() < 0.7 {
		tilt(x, rate, (r.Float64()*2-1)*3)
	}
	if r.Float64() < 0.4 {
		f := 250 * math.Exp2(r.Float64()*3.3)
		peak(x, rate, f, (r.Float64()*2-1)*9, 0.7+r.Float64())
	}
	if r.Float64() < 0.3 {
		highCut(x, rate, 5000*math.Exp2(r.Float64()*1.6))
	}
	if r.Float64() < 0.3 {
		lowCut(x, rate, 30*math.Exp2(r.Float64()*1.6))
	}
	if r.Float64() < 0.4 {
		compress(x, rate, 2+r.Float64()*4, 0.002+0.03*r.Float64(), 0.05+0.2*r.Float64())
	}
	if r.Float64() < 0.4 {
		room(x, rate, 0.15+r.Float64()*1.2, math.Pow(10, -(8+14*r.Float64())/20), r)
	}
	if r.Float64() < 0.3 {
		noise(x, math.Pow(10, -(50+25*r.Float64())/20), r)
	}
	return x
}

// half is the first or the second half of what sounds of a track: each holds half of its energy.
func half(in [][]float32, second bool) [][]float32 {
	var all, run float64
	for _, p := range in {
		for _, v := range p {
			all += float64(v) * float64(v)
		}
	}
	n := len(in[0])
	cut := n / 2
	for i := range n {
		for _, p := range in {
			run += float64(p[i]) * float64(p[i])
		}
		if run >= all/2 {
			cut = max(1, min(n-1, i))
			break
		}
	}
	out := make([][]float32, len(in))
	for c, p := range in {
		if second {
			out[c] = p[cut:]
		} else {
			out[c] = p[:cut]
		}
	}
	return out
}

// piece takes 45 to 100 % of the track, at most 15 s, that holds at least half of its share of the energy.
func piece(in [][]float32, rate int, r *rand.Rand) [][]float32 {
	n := len(in[0])
	take := min(int(float64(n)*(0.45+0.55*r.Float64())), 15*rate)
	var all float64
	cum := make([]float64, n+1)
	for i, v := range in[0] {
		all += float64(v) * float64(v)
		cum[i+1] = all
	}
	at := 0
	for range 20 {
		at = r.IntN(n - take + 1)
		if cum[at+take]-cum[at] > 0.5*all*float64(take)/float64(n) {
			break
		}
	}
	out := make([][]float32, len(in))
	for c := range in {
		out[c] = append([]float32(nil), in[c][at:at+take]...)
	}
	return out
}

// speed plays the track faster by a ratio, with cubic interpolation.
func speed(in [][]float32, ratio float64) [][]float32 {
	n := int(float64(len(in[0])-4) / ratio)
	out := make([][]float32, len(in))
	for c, x := range in {
		y := make([]float32, n)
		for i := range y {
			p := float64(i)*ratio + 1
			k := int(p)
			f := float32(p - float64(k))
			a, b, d, e := x[k-1], x[k], x[k+1], x[k+2]
			y[i] = b + 0.5*f*(d-a+f*(2*a-5*b+4*d-e+f*(3*(b-d)+e-a)))
		}
		out[c] = y
	}
	return out
}

type biquad struct{ b0, b1, b2, a1, a2 float64 }

func (q biquad) run(x [][]float32) {
	for _, p := range x {
		var s1, s2 float64
		for i, v := range p {
			in := float64(v)
			y := q.b0*in + s1
			s1 = q.b1*in - q.a1*y + s2
			s2 = q.b2*in - q.a2*y
			p[i] = float32(y)
		}
	}
}

// tilt turns the spectrum about 1 kHz by so many dB an octave: high shelves an octave and a bit apart.
func tilt(x [][]float32, rate int, dbPerOctave float64) {
	for hz := 60.0; hz < 14000; hz *= 2 {
		shelf(x, rate, hz, dbPerOctave)
	}
}

// The filters are those of R. Bristow-Johnson's cookbook formulae for audio equalizer biquad coefficients.
func shelf(x [][]float32, rate int, hz, db float64) {
	A, w := math.Pow(10, db/40), 2*math.Pi*hz/float64(rate)
	s, c := math.Sincos(w)
	al := s / 2 * math.Sqrt((A+1/A)*(1/0.6-1)+2)
	sq := 2 * math.Sqrt(A) * al
	a0 := (A + 1) - (A-1)*c + sq
	biquad{A * ((A + 1) + (A-1)*c + sq) / a0, -2 * A * ((A - 1) + (A+1)*c) / a0, A * ((A + 1) + (A-1)*c - sq) / a0,
		2 * ((A - 1) - (A+1)*c) / a0, ((A + 1) - (A-1)*c - sq) / a0}.run(x)
}

func peak(x [][]float32, rate int, hz, db, q float64) {
	A, w := math.Pow(10, db/40), 2*math.Pi*hz/float64(rate)
	s, c := math.Sincos(w)
	al := s / (2 * q)
	a0 := 1 + al/A
	biquad{(1 + al*A) / a0, -2 * c / a0, (1 - al*A) / a0, -2 * c / a0, (1 - al/A) / a0}.run(x)
}

func highCut(x [][]float32, rate int, hz float64) {
	s, c := math.Sincos(2 * math.Pi * math.Min(hz, 0.45*float64(rate)) / float64(rate))
	al := s / math.Sqrt2
	a0 := 1 + al
	biquad{(1 - c) / 2 / a0, (1 - c) / a0, (1 - c) / 2 / a0, -2 * c / a0, (1 - al) / a0}.run(x)
}

func lowCut(x [][]float32, rate int, hz float64) {
	s, c := math.Sincos(2 * math.Pi * hz / float64(rate))
	al := s / math.Sqrt2
	a0 := 1 + al
	biquad{(1 + c) / 2 / a0, -(1 + c) / a0, (1 + c) / 2 / a0, -2 * c / a0, (1 - al) / a0}.run(x)
}

// compress lowers what lies above the track's rms by a ratio.
func compress(x [][]float32, rate int, ratio, attackS, releaseS float64) {
	var sum, n float64
	for _, p := range x {
		for _, v := range p {
			if math.Abs(float64(v)) > 1e-4 {
				sum += float64(v) * float64(v)
				n++
			}
		}
	}
	if n == 0 {
		return
	}
	threshold := math.Sqrt(sum / n)
	at, rel := 1-math.Exp(-1/(attackS*float64(rate))), 1-math.Exp(-1/(releaseS*float64(rate)))
	var env float64
	for i := range x[0] {
		var a float64
		for _, p := range x {
			a = math.Max(a, math.Abs(float64(p[i])))
		}
		k := rel
		if a > env {
			k = at
		}
		env += k * (a - env)
		if env > threshold {
			g := float32(math.Pow(env/threshold, 1/ratio-1))
			for _, p := range x {
				p[i] *= g
			}
		}
	}
}

// room adds sparse, darkening, decaying echoes: eight recirculating delays of unequal length per channel.
func room(x [][]float32, rate int, seconds, wet float64, r *rand.Rand) {
	for _, p := range x {
		out := make([]float32, len(p))
		for range 8 {
			d := int(float64(rate) * (0.011 + 0.05*r.Float64()))
			fb := float32(math.Pow(10, -3*float64(d)/float64(rate)/seconds))
			buf := make([]float32, d)
			sign := float32(1)
			if r.IntN(2) == 0 {
				sign = -1
			}
			var lp float32
			at := 0
			for i, v := range p {
				y := buf[at]
				lp += 0.6 * (y - lp)
				buf[at] = v + fb*lp
				out[i] += sign * y
				if at++; at == d {
					at = 0
				}
			}
		}
		g := float32(wet * 0.5)
		for i := range p {
			p[i] += g * out[i]
		}
	}
}

func noise(x [][]float32, level float64, r *rand.Rand) {
	var peak float64
	for _, p := range x {
		for _, v := range p {
			peak = math.Max(peak, math.Abs(float64(v)))
		}
	}
	for _, p := range x {
		var last float64
		for i := range p {
			last = 0.7*last + 0.5*r.NormFloat64() // a little darker than white
			p[i] += float32(peak * level * last)
		}
	}
}
