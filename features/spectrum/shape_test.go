package spectrum

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func smooth(x []float32, seed uint32, gain, a float64) []float32 {
	state := 0.0
	for i := range x {
		seed = 1664525*seed + 1013904223
		state += a * (gain*float64(int32(seed>>8)-1<<23)/(1<<23) - state)
		x[i] = float32(state)
	}
	return x
}

func add(x ...[]float32) []float32 {
	out := append([]float32(nil), x[0]...)
	for _, y := range x[1:] {
		for i, v := range y {
			out[i] += v
		}
	}
	return out
}

func constant(n int, v float32) []float32 {
	out := make([]float32, n)
	for i := range out {
		out[i] = v
	}
	return out
}

// signals are those of testdata/welch.py.
func signals() map[string][][]float32 {
	const n = 4096 * 6
	all := map[string][][]float32{
		"coloured noise":  {smooth(make([]float32, n), 2, 1, 0.02)},
		"two channels":    {smooth(make([]float32, n), 3, 1, 0.1), noise(n, 4, 0.1)},
		"three channels":  {noise(n, 5, 0.1), smooth(make([]float32, n), 6, 1, 0.3), sine(n, 44100, 440, 0.5)},
		"two lines":       {add(sine(n, 48000, 1000, 0.5), sine(n, 48000, 3000, 0.5))},
		"line and offset": {add(sine(n, 48000, 100, 0.25), constant(n, 0.125))},
		"10 ms":           {add(sine(480, 48000, 1000, 0.5), noise(480, 7, 0.01))},
		"one sample":      {{0.5}},
		"one frame":       {smooth(make([]float32, 4096), 8, 1, 0.05)},
	}
	for _, rate := range []int{8000, 22050, 44100, 48000, 96000, 384000} {
		all[fmt.Sprintf("noise %d", rate)] = [][]float32{noise(FrameSize(rate)*5+17, 1, 0.5)}
	}
	return all
}

// Expected values: scipy.signal.welch, versions in testdata/welch.json, made by testdata/welch.py.
func TestAgainstSciPy(t *testing.T) {
	var reference struct {
		Cases []struct {
			Name     string
			Rate     int
			Bins     []int
			Power    []float64
			Sum      float64
			Total    float64
			Centroid float64   `json:"centroid_hz"`
			Spread   float64   `json:"spread_hz"`
			Rolloff  float64   `json:"rolloff_85_hz"`
			Flatness float64   `json:"flatness"`
			Octave   []float64 `json:"octave_share"`
			Register []float64 `json:"register_share"`
		}
	}
	file, err := os.ReadFile("testdata/welch.json")
	require.NoError(t, err)
	require.NoError(t, json.Unmarshal(file, &reference))
	made := signals()
	require.Len(t, reference.Cases, len(made))
	for _, c := range reference.Cases {
		t.Run(c.Name, func(t *testing.T) {
			planes, ok := made[c.Name]
			require.True(t, ok)
			m := New(c.Rate, len(planes))
			run(c.Rate, 3000, planes, m)
			power := m.Power()
			require.Len(t, power, FrameSize(c.Rate)/2+1)
			for i, k := range c.Bins {
				// Relative rounding of float32, and rounding noise 140 dB below the whole, spread over the bins: its
				// amplitude adds to the bin's. That of steady lines gathers in lines.
				noise := 1e-14 * c.Sum / float64(len(power))
				assert.InDelta(t, c.Power[i], power[k], 2e-6*c.Power[i]+8*math.Sqrt(c.Power[i]*noise)+1000*noise, "bin %d", k)
			}
			r := m.Result()
			assert.InEpsilon(t, c.Total, r.Total, 1e-6)
			assert.InDelta(t, c.Centroid, r.CentroidHz, 1e-5*c.Centroid)
			assert.InDelta(t, c.Spread, r.SpreadHz, 1e-5*c.Spread)
			assert.InDelta(t, c.Rolloff, r.Rolloff85Hz, 1e-6)
			assert.InDelta(t, c.Flatness, r.Flatness, 1e-5)
			for i, want := range c.Octave {
				assert.InDelta(t, want, math.Pow(10, r.OctaveDB[i]/10), 1e-6, "octave %g Hz", OctaveNominalHz[i])
			}
			for i, want := range c.Register {
				assert.InDelta(t, want, r.Register[i], 1e-6, RegisterNames[i])
			}
		})
	}
}

// IEC 61260-1:2014, formulas for mid-band and edge frequencies in base ten; values worked out to eight digits.
func TestOctaveEdges(t *testing.T) {
	want := []float64{
		22.387211, 44.668359, 89.125094, 177.827941, 354.813389, 707.945784, 1412.537545, 2818.382931, 5623.413252,
		11220.184543, 22387.211386,
	}
	for i, edge := range OctaveEdgesHz() {
		assert.InDelta(t, want[i], edge, 1e-6)
		if i < len(OctaveNominalHz) { // nominal values are rounded: ISO 266
			assert.InEpsilon(t, OctaveNominalHz[i], math.Sqrt(edge*OctaveEdgesHz()[i+1]), 0.012)
		}
	}
}

// Calculated: of a spectrum that is flat from 0 to half the rate the mean is fs/4, the deviation fs/(4 sqrt 3), and
// 85 % lie below 0.85 fs/2.
func TestFlatSpectrum(t *testing.T) {
	power := make([]float64, 2049)
	for k := range power {
		power[k] = 1e-3
	}
	power[2048] /= 2
	r := Shape(power, 48000)
	width := 48000.0 / 4096
	assert.InDelta(t, 12000, r.CentroidHz, width)
	assert.InDelta(t, 6928.203, r.SpreadHz, width)
	assert.InDelta(t, 20400, r.Rolloff85Hz, width)
	assert.InDelta(t, 1, r.Flatness, 1e-6)
	for i := range 9 { // a flat spectrum rises 3.01 dB an octave of ratio 2, 3 dB an octave of ratio 10^0.3
		assert.InDelta(t, 3, r.OctaveDB[i+1]-r.OctaveDB[i], 1e-9)
	}
}

// Ten seconds of white noise: fs/4, and nearly flat after averaging 233 frames.
func TestWhiteNoise(t *testing.T) {
	r := result(48000, noise(480000, 9, 0.5))
	assert.InEpsilon(t, 12000, r.CentroidHz, 0.01)
	assert.InEpsilon(t, 6928.203, r.SpreadHz, 0.01)
	assert.InEpsilon(t, 20400, r.Rolloff85Hz, 0.01)
	assert.Greater(t, r.Flatness, 0.98)
	assert.InEpsilon(t, 0.25/3, r.Total, 0.01) // uniform noise of +-0.5: mean square 0.5^2/3
}

// One frame of white noise: the powers of Gaussian bins are exponential, so the flatness is e^-gamma = 0.561459.
func TestFlatnessOfOneFrame(t *testing.T) {
	power := make([]float64, 1<<17+1)
	noise := randomSignal(2*len(power), 7)
	for k := range power {
		re, im := float64(noise[2*k]), float64(noise[2*k+1])
		power[k] = re*re + im*im
	}
	assert.InDelta(t, 0.561459, Shape(power, 40000).Flatness, 0.005)
}

// Calculated: two equal lines have their mean as centroid and half their distance as spread.
func TestTwoLines(t *testing.T) {
	const rate = 48000
	low, high := 1500.0, 4500.0 // both on a bin: 128 and 384
	r := result(rate, add(sine(rate, rate, low, 0.5), sine(rate, rate, high, 0.5)))
	assert.InDelta(t, 3000, r.CentroidHz, 0.1)
	assert.InDelta(t, 1500, r.SpreadHz, 0.1)
	assert.InDelta(t, 4500, r.Rolloff85Hz, 12)
	assert.Less(t, r.Flatness, 0.001)
	assert.InDelta(t, -3.0103, r.OctaveDB[6], 0.001) // 2 kHz octave: 1412 to 2818 Hz
	assert.InDelta(t, -3.0103, r.OctaveDB[7], 0.001) // 4 kHz octave: 2818 to 5623 Hz
	assert.InDelta(t, 0.5, r.Register[3], 1e-4)
	assert.InDelta(t, 0.5, r.Register[5], 1e-4)
}

func TestBandsAddUpToTheTotal(t *testing.T) {
	for name, planes := range signals() {
		rate := 48000
		_, _ = fmt.Sscanf(name, "noise %d", &rate)
		r := result(rate, planes...)
		sum := math.Pow(10, r.BelowDB/10) + math.Pow(10, r.AboveDB/10)
		for _, v := range r.OctaveDB {
			sum += math.Pow(10, v/10)
		}
		assert.InDelta(t, 1, sum, 1e-12, name)
		sum = 0
		for _, v := range r.Register {
			sum += v
		}
		assert.InDelta(t, 1, sum, 1e-12, name)
	}
}

// A line on a band edge is divided between both sides; invented.
func TestEdgeDividesABin(t *testing.T) {
	power := make([]float64, 2049)
	power[5] = 1 // 58.59 Hz, 52.73 to 64.45 Hz: the edge at 60 Hz leaves 62 % below
	assert.InDelta(t, (60-4.5*48000.0/4096)/(48000.0/4096), Shape(power, 48000).Register[0], 1e-12)
}

func TestSilenceAndConstant(t *testing.T) {
	for name, r := range map[string]Result{
		"nothing":       New(48000, 1).Result(),
		"silence":       result(48000, make([]float32, 20000)),
		"short silence": result(48000, make([]float32, 10)),
		"constant":      result(48000, constant(20000, 0.5)),
		"constant, two": result(48000, constant(20000, 0.5), constant(20000, -1)),
	} {
		assert.Zero(t, r.Total, name)
		assert.Zero(t, r.CentroidHz, name)
		assert.Zero(t, r.SpreadHz, name)
		assert.Zero(t, r.Rolloff85Hz, name)
		assert.Zero(t, r.Flatness, name)
		assert.Equal(t, [7]float64{}, r.Register, name)
		for _, v := range append(r.OctaveDB[:], r.BelowDB, r.AboveDB) {
			assert.True(t, math.IsInf(v, -1), name)
		}
	}
}

// An offset is no sound: it moves nothing.
func TestOffsetMovesNothing(t *testing.T) {
	x := noise(40960, 11, 0.25)
	a, b := result(48000, x), result(48000, add(x, constant(len(x), 0.5)))
	assert.InEpsilon(t, a.CentroidHz, b.CentroidHz, 1e-5)
	assert.InEpsilon(t, a.SpreadHz, b.SpreadHz, 1e-5)
}

func TestGainAndPolarityMoveNothing(t *testing.T) {
	for name, planes := range signals() {
		want := result(48000, planes...)
		for _, gain := range []float32{-1, 0.5, -1.0 / 1024, 3.7} {
			scaled := make([][]float32, len(planes))
			for c := range planes {
				for _, v := range planes[c] {
					scaled[c] = append(scaled[c], gain*v)
				}
			}
			got := result(48000, scaled...)
			assert.InEpsilon(t, want.Total*float64(gain)*float64(gain), got.Total, 1e-6, name)
			assert.InEpsilon(t, want.CentroidHz, got.CentroidHz, 1e-5, name)
			assert.InDelta(t, want.Rolloff85Hz, got.Rolloff85Hz, 12, name)
			assert.InDelta(t, want.Flatness, got.Flatness, 1e-5, name)
			for i := range want.Register {
				assert.InDelta(t, want.Register[i], got.Register[i], 1e-6, name)
			}
		}
	}
}

// Ten minutes of a steady signal measure like ten seconds: the average does not drift with length.
func TestLongTracksKeepAccuracy(t *testing.T) {
	power := make([]float32, 2049)
	for k, v := range randomSignal(len(power), 12) {
		power[k] = v * v * 1e-5
	}
	short, long := New(48000, 1), New(48000, 1)
	short.Frame(power)
	for range 600 * 48000 / 2048 {
		long.Frame(power)
	}
	a, b := short.Result(), long.Result()
	assert.InEpsilon(t, a.CentroidHz, b.CentroidHz, 1e-12)
	assert.InEpsilon(t, a.Total, b.Total, 1e-12)
	assert.InEpsilon(t, a.Flatness, b.Flatness, 1e-12)
}
