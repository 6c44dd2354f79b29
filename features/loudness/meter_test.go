package loudness

import (
	"fmt"
	"math"
	"sort"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"
)

func assertSilent(t *testing.T, r Result) {
	t.Helper()
	for name, v := range map[string]float64{
		"integrated": r.IntegratedLUFS, "momentary": r.MaxMomentaryLUFS, "short-term": r.MaxShortTermLUFS,
		"sample peak": r.SamplePeakDBFS, "true peak": r.TruePeakDBTP,
	} {
		assert.True(t, math.IsInf(v, -1), "%s: %v", name, v)
	}
	assert.Zero(t, r.LoudnessRangeLU)
}

func TestSilenceAndNothing(t *testing.T) {
	for _, rate := range []int{8000, 48000, 384000} {
		assertSilent(t, New(rate, 2).Result())
		assertSilent(t, measure(rate, make([]float32, 4*rate)))
	}
	assertSilent(t, New(48000, 0).Result())
	m := New(48000, 2)
	m.Write(nil)
	m.Write([][]float32{{}, {}})
	assertSilent(t, m.Result())
}

func assertNoNaN(t *testing.T, r Result) {
	t.Helper()
	for _, v := range append(append([]float64{r.IntegratedLUFS, r.LoudnessRangeLU, r.MaxMomentaryLUFS, r.MaxShortTermLUFS,
		r.SamplePeakDBFS, r.TruePeakDBTP}, r.ChannelSamplePeakDBFS...), r.ChannelTruePeakDBTP...) {
		require.False(t, math.IsNaN(v) || math.IsInf(v, 1), "%+v", r)
	}
}

func TestOddInputsGiveNumbers(t *testing.T) {
	const n = 12000
	loudest := make([]float32, n)
	for i := range loudest {
		loudest[i] = math.MaxFloat32 * float32(1-2*(i&1))
	}
	dc := make([]float32, n)
	for i := range dc {
		dc[i] = 0.5
	}
	denormal := make([]float32, n)
	for i := range denormal {
		denormal[i] = math.SmallestNonzeroFloat32
	}
	signals := map[string][]float32{"one sample": {0.5}, "direct current": dc, "largest numbers": loudest, "smallest numbers": denormal,
		"noise": whiteNoise(1, n, 0.2), "23 samples": whiteNoise(1, 23, 0.2)}
	for name, x := range signals {
		for _, rate := range []int{1, 50, 1000, 8000, 11025, 44100, 96000, 192000, 384000} {
			t.Run(fmt.Sprintf("%s at %d", name, rate), func(t *testing.T) {
				r := measure(rate, x)
				assertNoNaN(t, r)
				assert.GreaterOrEqual(t, r.TruePeakDBTP, r.SamplePeakDBFS)
			})
		}
	}
	assert.InDelta(t, -6.0206, measure(48000, []float32{0.5}).SamplePeakDBFS, 1e-4, "20 log10 0.5")
	assert.InDelta(t, -6.0206, measure(48000, dc).SamplePeakDBFS, 1e-4, "20 log10 0.5")
	long := make([]float32, 10*48000)
	for i := range long {
		long[i] = -0.5
	}
	m := New(48000, 1)
	m.Write([][]float32{long})
	assert.Less(t, lufs(m.windows.momentary/m.windows.momentarySamples), -150.0, "nothing of a DC offset remains")
}

func TestExtremeRates(t *testing.T) {
	for _, rate := range []int{8000, 22050, 384000} {
		x := tones(rate, 997, tone{4, -20})
		r := measure(rate, x, x)
		// The warping of the shelf grows as the rate falls: at 8 kHz the reading at 997 Hz is 0.35 dB high.
		assert.InDelta(t, -20, r.IntegratedLUFS, 0.4, "%d Hz", rate)
		assert.InDelta(t, -20, r.TruePeakDBTP, 0.25, "%d Hz", rate)
	}
}

func TestSixtyFourChannels(t *testing.T) {
	x := tones(48000, 997, tone{1, -40})
	planes := make([][]float32, 64)
	for c := range planes {
		planes[c] = x
	}
	r := measure(48000, planes...)
	assert.InDelta(t, -40-3.0103+10*math.Log10(64), r.IntegratedLUFS, 0.005, "energies add up")
	assert.Len(t, r.ChannelTruePeakDBTP, 64)
}

func TestSurroundsWeighMoreAndLFENothing(t *testing.T) {
	x := tones(48000, 997, tone{2, -20})
	for _, c := range []struct{ channels, channel int }{{5, 0}, {5, 2}, {5, 3}, {5, 4}, {6, 1}, {6, 3}, {6, 4}, {6, 5}, {4, 3}, {7, 5}} {
		planes := make([][]float32, c.channels)
		for i := range planes {
			planes[i] = make([]float32, len(x))
		}
		planes[c.channel] = x
		want := -23.0103
		switch {
		case c.channels == 6 && c.channel == 3:
			want = math.Inf(-1)
		case c.channels == 5 && c.channel >= 3, c.channels == 6 && c.channel >= 4:
			want += 1.4922 // 10 log10 1.41, BS.1770-5 Annex 1 table 3
		}
		got := measure(48000, planes...).IntegratedLUFS
		if math.IsInf(want, -1) {
			assert.True(t, math.IsInf(got, -1), "%+v: %v", c, got)
		} else {
			assert.InDelta(t, want, got, 0.005, "%+v", c)
		}
	}
}

func TestBlocksDoNotMatter(t *testing.T) {
	r := generator(77)
	for _, channels := range []int{1, 2, 3, 6} {
		for _, rate := range []int{11025, 44100, 96000} {
			planes := make([][]float32, channels)
			for c := range planes {
				planes[c] = drumLike(uint64(c), rate, 44100+17)
			}
			want := measure(rate, planes...)
			for _, longest := range []int{3, 40, 1000, 20000} {
				m := New(rate, channels)
				for at := 0; at < len(planes[0]); {
					n := min(r.IntN(longest+1), len(planes[0])-at)
					block := make([][]float32, channels)
					for c := range planes {
						block[c] = planes[c][at : at+n]
					}
					m.Write(block)
					at += n
				}
				require.Equal(t, want, m.Result(), "%d channels at %d, blocks up to %d", channels, rate, longest)
			}
		}
	}
}

func TestResultDoesNotDisturb(t *testing.T) {
	x := drumLike(3, 48000, 5*48000)
	want := measure(48000, x)
	m := New(48000, 1)
	for at := 0; at < len(x); at += 777 {
		m.Write([][]float32{x[at:min(at+777, len(x))]})
		m.Result()
	}
	assert.Equal(t, want, m.Result())
}

func TestGainShiftsEveryLevel(t *testing.T) {
	x := speechLike(5, 48000, 20*48000)
	half := make([]float32, len(x))
	for i := range x {
		half[i] = x[i] / 2 // exact in binary, so every level falls by the same
	}
	a, b := measure(48000, x), measure(48000, half)
	const shift = 6.020599913
	assert.InDelta(t, a.IntegratedLUFS-shift, b.IntegratedLUFS, 0.002)
	assert.InDelta(t, a.LoudnessRangeLU, b.LoudnessRangeLU, 0.0085)
	assert.InDelta(t, a.MaxMomentaryLUFS-shift, b.MaxMomentaryLUFS, 1e-6)
	assert.InDelta(t, a.MaxShortTermLUFS-shift, b.MaxShortTermLUFS, 1e-6)
	assert.InDelta(t, a.TruePeakDBTP-shift, b.TruePeakDBTP, 1e-6)
}

func TestUnevenPlanes(t *testing.T) {
	x := drumLike(1, 48000, 48000)
	m := New(48000, 2)
	m.Write([][]float32{x, x[:24000], x})
	assert.Equal(t, measure(48000, x[:24000], x[:24000]), m.Result())
	m = New(48000, 2)
	m.Write([][]float32{x})
	assert.Equal(t, measure(48000, x, make([]float32, len(x))).IntegratedLUFS, m.Result().IntegratedLUFS)
}

func TestWriteAllocatesNothing(t *testing.T) {
	for _, rate := range []int{48000, 96000, 192000} {
		m := New(rate, 3)
		x := whiteNoise(1, 10000, 0.5)
		block := [][]float32{x, x, x}
		assert.Zero(t, testing.AllocsPerRun(20, func() { m.Write(block) }), "%d Hz", rate)
	}
}

// The histogram against every value kept and sorted, on 10 000 values of the kind tracks give: several levels, gaps, and
// steady stretches.
func TestHistogramAgainstExactGating(t *testing.T) {
	for seed := range uint64(20) {
		r := generator(seed)
		h := newGateHistogram()
		var values []float64
		level := -20.0
		for range 10000 {
			switch r.IntN(20) {
			case 0:
				level = -75 + 70*r.Float64()
			case 1, 2, 3, 4, 5, 6, 7, 8, 9, 10:
				level += r.NormFloat64()
			}
			v := meanSquare(level)
			h.add(v)
			if v > absoluteGate {
				values = append(values, v)
			}
		}
		gated := func(gateLU float64) []float64 {
			sum := 0.0
			for _, v := range values {
				sum += v
			}
			threshold := sum / float64(len(values)) * math.Pow(10, gateLU/10)
			var kept []float64
			for _, v := range values {
				if v > threshold {
					kept = append(kept, v)
				}
			}
			sort.Float64s(kept)
			return kept
		}
		kept := gated(-10)
		sum := 0.0
		for _, v := range kept {
			sum += v
		}
		assert.InDelta(t, lufs(sum/float64(len(kept))), lufs(h.gatedMean()), 0.01)
		kept = gated(-20)
		at := func(percent float64) float64 { return lufs(kept[int(math.Round(float64(len(kept)-1)*percent/100))]) }
		assert.InDelta(t, at(95)-at(10), h.loudnessRange(), 0.01)
	}
}

// Without peaks every other figure is the same.
func TestAMeterWithoutPeaks(t *testing.T) {
	with, without := New(48000, 2), NewWithoutPeaks(48000, 2)
	for n := range 40 {
		x := make([]float32, 7001)
		for i := range x {
			x[i] = float32(math.Sin(float64(i*(n+1)) * 0.01))
		}
		with.Write([][]float32{x, x[:7000]})
		without.Write([][]float32{x, x[:7000]})
	}
	a, b := with.Result(), without.Result()
	assert.True(t, math.IsNaN(b.SamplePeakDBFS) && math.IsNaN(b.TruePeakDBTP))
	a.SamplePeakDBFS, a.TruePeakDBTP, a.ChannelSamplePeakDBFS, a.ChannelTruePeakDBTP = 0, 0, nil, nil
	b.SamplePeakDBFS, b.TruePeakDBTP = 0, 0
	assert.Equal(t, a, b)
}
