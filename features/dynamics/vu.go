package dynamics

import (
	"math"

	"foldout/features/vec"
)

// The needle of IEC 60268-17 as a second-order system that overshoots by 1.25 %, the middle of the permitted 1 to
// 1.5 %, and first reaches 99 % of a step after 300 ms. Both figures follow from the closed form of the step response.
const (
	vuDamping = 0.812716986
	vuRadians = 13.511912563 // natural frequency, rad/s
)

// needle is the movement, fed with the rectified mean of one cell at a time. The mean is held over the cell and the
// differential equation solved exactly, so the cells do not change the ballistics; what they add is the alias of the
// rectified ripple, below 0.01 dB for cells of 1 ms. Treble is rectified at four phases (rectify.go).
type needle struct {
	pos, vel       float64 // deflection and its rate
	highest        float64
	pp, pv, vp, vv float64 // transition over one cell of the distance from rest
}

func newNeedle(cellS float64) needle {
	a := vuDamping * vuRadians
	w := vuRadians * math.Sqrt(1-vuDamping*vuDamping)
	e := math.Exp(-a * cellS)
	c, s := math.Cos(w*cellS), math.Sin(w*cellS)
	return needle{
		pp: e * (c + a/w*s), pv: e * s / w,
		vp: -e * s * vuRadians * vuRadians / w, vv: e * (c - a/w*s),
	}
}

func (n *needle) step(mean float64) {
	d := n.pos - mean
	n.pos, n.vel = mean+n.pp*d+n.pv*n.vel, n.vp*d+n.vv*n.vel
	if n.pos > n.highest {
		n.highest = n.pos
	}
}

// vuDB turns a rectified mean into dB re the mean of a full-scale sine, 2/pi.
func vuDB(mean float64) float64 {
	if mean <= 0 {
		return math.Inf(-1)
	}
	return 20 * math.Log10(mean*math.Pi/2)
}

// VU is a standard volume indicator for one signal after IEC 60268-17:1990: full-wave average rectifier, calibrated
// with a sine; 99 % of a step in 300 ms; overshoot 1.25 %. It therefore reads Gaussian noise 1.05 dB lower and a square
// wave 0.91 dB higher than true rms would. A constant offset is read like sound.
//
// Readings are in dB relative to the steady reading of a full-scale sine. With an operating level of -18 dBFS, 0 VU is
// a reading of -18.
type VU struct {
	needle    needle
	rectifier rectifier
	stage     []float32 // of one cell
	cell      [1]vec.Cell
	filled    int
}

// NewVU makes a meter at rest. A rate below 1 Hz is taken as 1 Hz.
func NewVU(sampleRateHz int) *VU {
	n := cellLength(sampleRateHz)
	return &VU{needle: newNeedle(float64(n) / float64(max(sampleRateHz, 1))), stage: make([]float32, n)}
}

// Write feeds finite samples of one signal, full scale 1; any length, also none. It does not allocate.
func (v *VU) Write(block []float32) {
	for len(block) > 0 {
		n := copy(v.stage[v.filled:], block)
		v.filled += n
		block = block[n:]
		if v.filled == len(v.stage) {
			measure(v.cell[:], v.stage, len(v.stage))
			v.needle.step(v.rectifier.mean(v.stage, &v.cell[0]))
			v.filled = 0
		}
	}
}

// Reading is the present deflection in dB; minus infinity at rest. It lags the sound by less than 1 ms.
func (v *VU) Reading() float64 { return vuDB(v.needle.pos) }

// Max is the highest deflection so far in dB, overshoot included; minus infinity on silence.
func (v *VU) Max() float64 { return vuDB(v.needle.highest) }
