package dynamics

import (
	"encoding/binary"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

func finite(t *testing.T, r Result) {
	t.Helper()
	for name, v := range map[string]float64{"crest": r.CrestDB, "plain crest": r.PlainCrestDB, "offset": r.DCOffset, "active": r.ActiveShare,
		"onsets": r.OnsetRateHz, "attack": r.AttackS, "decay": r.DecayS, "ratio": r.TransientToSustainDB, "tonality": r.Tonality} {
		assert.False(t, math.IsNaN(v) || math.IsInf(v, 0), "%s is %g", name, v)
	}
	for name, v := range map[string]float64{"peak": r.SamplePeakDB, "rms": r.RMSDB, "active": r.ActiveRMSDB, "floor": r.NoiseFloorDB, "vu": r.VUMaxDB} {
		assert.False(t, math.IsNaN(v) || math.IsInf(v, 1), "%s is %g", name, v)
	}
	assert.True(t, r.ActiveShare >= 0 && r.ActiveShare <= 1)
	assert.True(t, r.Tonality >= 0 && r.Tonality <= 1)
}

func TestOddTracks(t *testing.T) {
	none := math.Inf(-1)
	tests := []struct {
		name   string
		rate   int
		signal []float32
		silent bool
		rms    float64
	}{
		{"nothing", 48000, nil, true, none},
		{"one zero", 48000, []float32{0}, true, none},
		{"digital silence", 48000, make([]float32, 100000), true, none},
		{"constant", 48000, sampled(48000, 2, func(float64) float64 { return 0.5 }), true, -6.0206},
		{"negative constant", 44100, sampled(44100, 2, func(float64) float64 { return -0.1 }), true, -20},
		{"hiss at -90 dBFS", 48000, noise(48000, 3, math.Pow(10, -4.5), 1), true, -90},
		{"hiss at -60 dBFS", 48000, noise(48000, 3, 1e-3, 1), false, -60},
		{"10 ms", 48000, sine(48000, 0.01, 1000, 0.5), false, -9.0309},
		{"10 ms at 8 kHz", 8000, sine(8000, 0.01, 1000, 0.5), false, -9.0309},
		{"8 kHz", 8000, sine(8000, 3, 440, 0.5), false, -9.0309},
		{"384 kHz", 384000, sine(384000, 1, 440, 0.5), false, -9.0309},
		{"beyond full scale", 48000, sine(48000, 1, 440, 16), false, 21.0721},
		{"denormal", 48000, sampled(48000, 1, func(t float64) float64 { return 1e-40 * math.Sin(2764*t) }), true, -803},
	}
	for _, tt := range tests {
		t.Run(tt.name, func(t *testing.T) {
			r := analyse(tt.rate, 777, tt.signal)
			finite(t, r)
			assert.Equal(t, tt.silent, r.Silent)
			assert.EqualValues(t, len(tt.signal), r.Frames)
			if math.IsInf(tt.rms, -1) {
				assert.Equal(t, tt.rms, r.RMSDB)
			} else {
				assert.InDelta(t, tt.rms, r.RMSDB, 0.1, "closed form")
			}
			if tt.silent {
				assert.Zero(t, r.ActiveShare)
				assert.Zero(t, r.Onsets)
				assert.Zero(t, r.Tonality)
			}
		})
	}
}

func TestOneSample(t *testing.T) {
	r := analyse(48000, 1, []float32{0.5})
	finite(t, r)
	assert.InDelta(t, -6.0206, r.SamplePeakDB, 1e-4, "closed form")
	assert.InDelta(t, -6.0206, r.RMSDB, 1e-4, "closed form")
	assert.Equal(t, 0.5, r.DCOffset)
	assert.True(t, r.Silent, "one sample is a constant")
}

func TestOddArguments(t *testing.T) {
	m := New(0, 0)
	m.Write(nil)
	m.Write([][]float32{})
	m.Write([][]float32{{1}, {1, 2}})
	m.Frame(nil)
	m.Frame([]float32{1})
	m.Frame([]float32{1, 1, 1})
	m.Frame(make([]float32, 2049)) // another length than before
	finite(t, m.Result())

	m = New(48000, 2)
	m.Write([][]float32{{1, 1}})     // too few planes
	m.Write([][]float32{{1, 1}, {}}) // the shortest counts
	assert.Zero(t, m.Result().Frames)
}

func TestSameFiguresAtAllRates(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	want := analyse(48000, 4096, hits(48000, 3, 0.5, 440, 0.3, 0.5))
	for _, rate := range []int{8000, 22050, 44100, 96000, 384000} {
		r := analyse(rate, 4096, hits(rate, 3, 0.5, 440, 0.3, 0.5))
		assert.Equal(t, want.Onsets, r.Onsets, "%d Hz", rate)
		assert.InEpsilon(t, want.DecayS, r.DecayS, 0.05, "%d Hz", rate)
		assert.InDelta(t, want.TransientToSustainDB, r.TransientToSustainDB, 0.5, "%d Hz", rate)
		assert.InDelta(t, want.VUMaxDB, r.VUMaxDB, 0.1, "%d Hz", rate)
		assert.InDelta(t, want.Tonality, r.Tonality, 0.05, "%d Hz", rate)
	}
}

func TestOffset(t *testing.T) {
	x := sampled(48000, 2, func(t float64) float64 { return 0.3*math.Sin(2*math.Pi*100*t) - 0.02 })
	r := analyse(48000, 1000, make([]float32, len(x)), x)
	assert.InDelta(t, -0.02, r.DCOffset, 1e-6, "closed form")
	assert.Equal(t, 0.0, r.PerChannel[0].DCOffset)
}

func FuzzMeter(f *testing.F) {
	f.Add([]byte{0, 1, 2, 3, 4, 5, 6, 7}, 48000, 1, 3)
	f.Add(make([]byte, 4000), 8000, 2, 100)
	f.Fuzz(func(t *testing.T, data []byte, rate, channels, block int) {
		channels = 1 + int(uint(channels)%4)
		rate = 1 + int(uint(rate)%400000)
		block = 1 + int(uint(block)%5000)
		planes := make([][]float32, channels)
		for i := 0; i+4 <= len(data); i += 4 {
			v := math.Float32frombits(binary.LittleEndian.Uint32(data[i:]))
			if v != v || v > 1e6 || v < -1e6 {
				v = 0
			}
			for range 20 { // held, so that short data fill several stretches
				planes[i/4%channels] = append(planes[i/4%channels], v)
			}
		}
		m := New(rate, channels)
		part := make([][]float32, channels)
		power := make([]float32, 65)
		n := len(planes[channels-1])
		for i := 0; i < n; i += block {
			for c := range planes {
				part[c] = planes[c][i:min(i+block, n)]
			}
			m.Write(part)
			if i+65 <= n {
				for k, v := range planes[0][i : i+65] { // powers are not negative
					power[k] = v * v
				}
			}
			m.Frame(power)
		}
		finite(t, m.Result())
	})
}
