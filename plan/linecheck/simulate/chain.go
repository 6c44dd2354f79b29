// Package simulate passes signals through an invented studio loop: line outputs, cables, a summing unit, a return, with
// whatever faults are asked for. It serves the tests of the line check and lets a newcomer see one without hardware.
//
// In goes what every output plays (Source) and a Chain; out comes the stereo return, block by block. A delay or a drift is
// read off the source between its samples; a source that can compute itself there (tones.Sound) makes them exact.
package simulate

import (
	"math"
	"math/rand/v2"

	"foldout/features/align"
)

// Source is what an output plays: dst gets the signal at start, start+step ... in frames.
type Source interface {
	ReadAt(dst []float64, start, step float64)
}

// Samples is a Source made of samples, interpolated where it must be. Before and after it is silence.
type Samples struct {
	X  []float64
	in *align.Interpolator
}

// NewSamples makes a Source of samples.
func NewSamples(x []float64) *Samples { return &Samples{x, align.NewInterpolator(32, 1)} }

// ReadAt implements Source.
func (s *Samples) ReadAt(dst []float64, start, step float64) { s.in.Read(dst, s.X, start, step) }

// Path is the way of one output to the return. The zero value is a perfect one.
type Path struct {
	Dead      bool
	Invert    bool
	GainDB    float64
	Delay     float64 // samples
	Other     bool    // arrives on the other side
	Both      bool    // arrives on both sides
	Second    float64 // y = x + Second x^2 + Third x^3
	Third     float64
	Iron      float64 // saturation of a transformer core: third harmonic that grows towards the bass
	LowCutHz  float64 // one-pole filters; 0: none
	HighCutHz float64
	Gaps      []Gap // moments in which the contact opens
}

// Gap is a moment, in seconds of the recording.
type Gap struct{ At, Seconds float64 }

// Chain is the whole loop.
type Chain struct {
	RateHz      int
	Paths       []Path  // one for each output; outputs 1, 3, 5 ... belong to the left
	Latency     float64 // samples from the start of the recording to the start of the tones
	DriftPPM    float64 // positive: the return is too long
	GainDB      float64
	Invert      bool
	Swap        bool    // left and right of the return
	CrosstalkDB float64 // of each side into the other; 0: none
	NoiseDBFS   float64 // rms of white noise on each side; 0: none
	HumHz       float64
	HumDBFS     float64 // of the fundamental, full-scale sine 0; a third harmonic 10 dB under it comes with it
	Gaps        []Gap   // lost by the recorder: both sides are digital silence
	ClipAt      float64 // amplitude; 0: no clipping
	Seed        uint64
}

// Run passes the sources through the chain and hands over the return in blocks of two planes, frames in all. The planes
// are valid during the call only. An error of write ends it.
func (c *Chain) Run(sources []Source, frames int64, write func([][]float64) error) error {
	const block = 1 << 14
	rng := rand.New(rand.NewPCG(c.Seed, 7))
	states := make([]state, len(c.Paths))
	out := [][]float64{make([]float64, block), make([]float64, block)}
	x := make([]float64, block)
	step := 1 / (1 + c.DriftPPM*1e-6)
	for at := int64(0); at < frames; at += block {
		n := int(min(block, frames-at))
		for side := range out {
			out[side] = out[side][:n]
			clear(out[side])
		}
		for i, p := range c.Paths {
			if p.Dead {
				continue
			}
			y := x[:n]
			sources[i].ReadAt(y, (float64(at)-c.Latency-p.Delay)*step, step)
			states[i].pass(y, p, float64(c.RateHz), at)
			own := i % 2
			if p.Other {
				own = 1 - own
			}
			add(out[own], y)
			if p.Both {
				add(out[1-own], y)
			}
		}
		c.loop(out, at, rng)
		if err := write(out); err != nil {
			return err
		}
	}
	return nil
}

func add(dst, x []float64) {
	for i, v := range x {
		dst[i] += v
	}
}

// loop is what happens after the sum.
func (c *Chain) loop(out [][]float64, at int64, rng *rand.Rand) {
	gain := math.Pow(10, c.GainDB/20)
	if c.Invert {
		gain = -gain
	}
	leak, noise, hum := 0.0, 0.0, 0.0
	if c.CrosstalkDB != 0 {
		leak = math.Pow(10, c.CrosstalkDB/20)
	}
	if c.NoiseDBFS != 0 {
		noise = math.Pow(10, c.NoiseDBFS/20)
	}
	if c.HumHz != 0 {
		hum = math.Pow(10, c.HumDBFS/20)
	}
	rate := float64(c.RateHz)
	for i := range out[0] {
		l, r := out[0][i], out[1][i]
		t := float64(at+int64(i)) / rate
		h := 0.0
		if hum != 0 {
			w := 2 * math.Pi * c.HumHz * t
			h = hum * (math.Sin(w) + 0.316*math.Sin(3*w+1))
		}
		a := gain*(l+leak*r) + h
		b := gain*(r+leak*l) + h
		if noise != 0 {
			a, b = a+noise*rng.NormFloat64(), b+noise*rng.NormFloat64()
		}
		if within(c.Gaps, t) {
			a, b = 0, 0
		}
		if c.ClipAt > 0 {
			a, b = max(-c.ClipAt, min(c.ClipAt, a)), max(-c.ClipAt, min(c.ClipAt, b))
		}
		if c.Swap {
			a, b = b, a
		}
		out[0][i], out[1][i] = a, b
	}
}

func within(gaps []Gap, t float64) bool {
	for _, g := range gaps {
		if t >= g.At && t < g.At+g.Seconds {
			return true
		}
	}
	return false
}

// state is what the filters of a path remember.
type state struct{ low, high, flux float64 }

// fluxHz is below what frequency a core's flux follows the signal as an integral would.
const fluxHz = 10

func (s *state) pass(x []float64, p Path, rate float64, at int64) {
	gain := math.Pow(10, p.GainDB/20)
	if p.Invert {
		gain = -gain
	}
	low := 1 - math.Exp(-2*math.Pi*p.LowCutHz/rate)
	high := 1 - math.Exp(-2*math.Pi*p.HighCutHz/rate)
	leak, rise := 1-2*math.Pi*fluxHz/rate, 2*math.Pi*50/rate
	for i, v := range x {
		v *= gain
		if p.Second != 0 || p.Third != 0 {
			v += p.Second*v*v + p.Third*v*v*v
		}
		if p.Iron != 0 {
			s.flux = leak*s.flux + rise*v
			v -= p.Iron * s.flux * s.flux * v
		}
		if p.LowCutHz > 0 {
			s.low += low * (v - s.low)
			v -= s.low
		}
		if p.HighCutHz > 0 {
			s.high += high * (v - s.high)
			v = s.high
		}
		if len(p.Gaps) > 0 && within(p.Gaps, float64(at+int64(i))/rate) {
			v = 0
		}
		x[i] = v
	}
}
