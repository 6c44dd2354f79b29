package levels

import (
	"math"

	"foldout/features"
	"foldout/features/dynamics"
	"foldout/features/loudness"
	"foldout/plan/stems"
)

const (
	readingsPerS = 20 // VU readings taken per second
	vuFloorDB    = -100.0
	vuTopDB      = 40.0
	vuStepDB     = 0.02
	loudShare    = 0.05 // the highest share of readings that make "loud passages"
	playingDB    = 20.0 // readings within this of the highest count as playing: the scale of a VU meter
)

// meter measures one stereo sum. It takes blocks of at most stems.BlockFrames and allocates nothing while it does.
type meter struct {
	loudness *loudness.Meter
	vu       [2]*dynamics.VU
	sum      [2]float64
	square   [2]float64
	product  float64
	frames   int64
	narrow   [2][]float32 // the block in single precision
	every    int          // frames between readings
	due      int          // frames to the next
	readings []int64      // histogram of the higher side, vuFloorDB upwards
}

func newMeter(rateHz int) *meter {
	m := &meter{
		loudness: loudness.New(rateHz, 2),
		narrow:   [2][]float32{make([]float32, stems.BlockFrames), make([]float32, stems.BlockFrames)},
		every:    max(rateHz/readingsPerS, 1),
		readings: make([]int64, int((vuTopDB-vuFloorDB)/vuStepDB)+1),
	}
	m.due = m.every
	for side := range m.vu {
		m.vu[side] = dynamics.NewVU(rateHz)
	}
	return m
}

// write takes planes of one length.
func (m *meter) write(block [2][]float64) {
	n := len(block[0])
	l, r := block[0], block[1][:n]
	outL, outR := m.narrow[0][:n], m.narrow[1][:n]
	var sl, sr, ll, rr, lr float64
	for i, a := range l {
		b := r[i]
		outL[i], outR[i] = float32(a), float32(b)
		sl += a
		sr += b
		ll += a * a
		rr += b * b
		lr += a * b
	}
	m.sum[0] += sl
	m.sum[1] += sr
	m.square[0] += ll
	m.square[1] += rr
	m.product += lr
	m.frames += int64(n)
	planes := [2][]float32{outL, outR}
	m.loudness.Write(planes[:])
	for at := 0; at < n; {
		k := min(m.due, n-at)
		m.vu[0].Write(outL[at : at+k])
		m.vu[1].Write(outR[at : at+k])
		at += k
		if m.due -= k; m.due == 0 {
			m.due = m.every
			m.read()
		}
	}
}

// read notes the present deflection.
func (m *meter) read() {
	v := max(m.vu[0].Reading(), m.vu[1].Reading())
	if !(v > vuFloorDB) {
		return
	}
	m.readings[min(int((v-vuFloorDB)/vuStepDB), len(m.readings)-1)]++
}

// loud is the level of loud passages in dB re the reading of a full-scale sine; minus infinity for silence.
func (m *meter) loud() float64 {
	top := len(m.readings) - 1
	for top >= 0 && m.readings[top] == 0 {
		top--
	}
	if top < 0 {
		return math.Inf(-1)
	}
	bottom := max(top-int(playingDB/vuStepDB), 0)
	var playing int64
	for _, n := range m.readings[bottom : top+1] {
		playing += n
	}
	above := int64(loudShare * float64(playing))
	for k := top; k > bottom; k-- {
		if above -= m.readings[k]; above < 0 {
			return vuFloorDB + (float64(k)+0.5)*vuStepDB
		}
	}
	return vuFloorDB + (float64(bottom)+0.5)*vuStepDB
}

// correlation is that of the two sides without their means, -1..1; 0 where one is silent or constant.
func (m *meter) correlation() float64 {
	n := float64(max(m.frames, 1))
	left, right := m.square[0]-m.sum[0]*m.sum[0]/n, m.square[1]-m.sum[1]*m.sum[1]/n
	if left <= 1e-9*m.square[0] || right <= 1e-9*m.square[1] { // rounding of the sums
		return 0
	}
	return max(-1, min(1, (m.product-m.sum[0]*m.sum[1]/n)/math.Sqrt(left*right)))
}

// result gives the figures; toVU is added to VU readings in dB re full scale.
func (m *meter) result(toVU float64) Sum {
	l := m.loudness.Result()
	s := Sum{
		SamplePeakDBFS: features.DB(l.SamplePeakDBFS), TruePeakDBTP: features.DB(l.TruePeakDBTP),
		IntegratedLUFS: features.DB(l.IntegratedLUFS), MaxShortTermLUFS: features.DB(l.MaxShortTermLUFS),
		RMSDBFS: features.DB(10 * math.Log10(max(m.square[0], m.square[1])/float64(max(m.frames, 1)))),
		VUMax:   features.DB(max(m.vu[0].Max(), m.vu[1].Max()) + toVU),
		VULoud:  features.DB(m.loud() + toVU),
	}
	s.Correlation = m.correlation()
	if both := m.square[0] + m.square[1]; both > 0 {
		left := max(both+2*m.product, 0) / (2 * both)
		if left < 1e-15 { // rounding of the sums
			left = 0
		}
		s.MonoLossDB = features.DB(10 * math.Log10(1/left))
	}
	return s
}
