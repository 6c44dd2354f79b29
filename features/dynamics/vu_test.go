package dynamics

import (
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func TestVUBallistics(t *testing.T) {
	for _, rate := range []int{8000, 44100, 48000, 96000, 384000} {
		v := NewVU(rate)
		step := []float32{1}
		full := vuDB(1)
		reached := math.NaN()
		for i := range 2 * rate {
			v.Write(step)
			if math.IsNaN(reached) && v.needle.pos >= 0.99 {
				reached = float64(i+1) / float64(rate)
			}
		}
		assert.InDelta(t, 0.3, reached, 0.03, "IEC 60268-17: 99 %% in 300 ms +-10 %%, at %d Hz", rate)
		assert.InDelta(t, 0.3, reached, 0.002, "design of the model, at %d Hz", rate)
		over := math.Pow(10, (v.Max()-full)/20) - 1
		assert.Greater(t, over, 0.010, "IEC 60268-17: overshoot 1 to 1.5 %%")
		assert.Less(t, over, 0.015, "IEC 60268-17: overshoot 1 to 1.5 %%")
		assert.InDelta(t, full, v.Reading(), 1e-4, "comes to rest")
	}
}

func TestVUReadings(t *testing.T) {
	tests := []struct {
		name   string
		signal []float32
		rmsDB  float64 // of the signal re that of a full-scale sine
		want   float64 // reading minus rms
		delta  float64
	}{
		{"sine", sine(rate48, 3, 997, 0.125), 20 * math.Log10(0.125), 0, 2e-3},
		{"square", sampled(rate48, 3, func(t float64) float64 { return math.Copysign(0.1, math.Sin(2*math.Pi*100*(t+1e-6))) }), -20 + 3.0103, 0.9121, 1e-3},
		{"triangle", sampled(rate48, 3, func(t float64) float64 { return 4*math.Abs(math.Mod(100*t, 1)-0.5)/2 - 0.5 }), -6.0206 - 4.7712 + 3.0103, -0.3373, 1e-3},
	}
	for _, tt := range tests {
		v := NewVU(rate48)
		v.Write(tt.signal)
		assert.InDelta(t, tt.want, v.Reading()-tt.rmsDB, tt.delta, "closed form of the average-responding rectifier: "+tt.name)
	}
	v := NewVU(rate48)
	sum := 0.0
	x := noise(rate48, 20, 0.1, 3)
	for i := 0; i < len(x); i += 480 {
		v.Write(x[i : i+480])
		if i >= rate48 {
			sum += v.needle.pos
		}
	}
	assert.InDelta(t, -1.0491, vuDB(sum/float64((len(x)-rate48)/480))-(-20+3.0103), 0.02, "closed form: Gaussian noise")
}

// The reading of a steady tone is its level, whatever its frequency, its phase and the rate: IEC 60268-17 calibrates with
// a sine, and a needle of 2 Hz knows no other frequency.
func TestVUReadsHighTonesAtAnyPhase(t *testing.T) {
	for _, rate := range []int{44100, 48000, 96000} {
		for _, hz := range []float64{997, 2400, 3000, 4800, 6000, 8000, 9600} {
			for _, phase := range []float64{0, 0.3, 0.524, 0.9, 1.2, 1.57} {
				v := NewVU(rate)
				x := sampled(rate, 2, func(t float64) float64 { return 0.5 * math.Sin(2*math.Pi*hz*t+phase) })
				v.Write(x)
				assert.InDelta(t, -6.0206, v.Reading(), 0.1, "%g Hz at %d, phase %g", hz, rate, phase)
				r := envelope(rate, 1000, x)
				assert.InDelta(t, v.Max(), r.VUMaxDB, 0.01, "the meter of the profile is the same")
			}
		}
	}
}

// The needle is fed cell by cell; the reference solves the same equation at every sample.
func TestVUCellsAgainstEverySample(t *testing.T) {
	for _, hz := range []float64{20, 31, 50.5, 101, 250.7, 500.9, 999, 1000.5} {
		x := sine(rate48, 4, hz, 1)
		v, every := NewVU(rate48), newNeedle(1.0/rate48)
		low, high := math.Inf(1), math.Inf(-1)
		for i, s := range x {
			v.Write(x[i : i+1])
			every.step(math.Abs(float64(s)))
			if i > 2*rate48 && i%48 == 47 {
				d := v.Reading() - vuDB(every.pos)
				low, high = min(low, d), max(high, d)
			}
		}
		assert.Less(t, high, 0.01, "%g Hz", hz)
		assert.Greater(t, low, -0.01, "%g Hz", hz)
	}
}

func TestVUAtRest(t *testing.T) {
	v := NewVU(0)
	v.Write(nil)
	assert.Equal(t, math.Inf(-1), v.Reading())
	v.Write(make([]float32, 100))
	assert.Equal(t, math.Inf(-1), v.Max())
}
