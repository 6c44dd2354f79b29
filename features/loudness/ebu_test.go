package loudness

import (
	"fmt"
	"math"
	"testing"

	"github.com/stretchr/testify/assert"
)

// The synthetic cases of EBU Tech 3341 (2023) table 1 and EBU Tech 3342 (2023) table 1. Levels are dBFS peak per channel
// of a 1 kHz sine in both channels. Cases 7 and 8 of the one and 5 and 6 of the other are recorded programmes and cannot
// be generated.

// short tells whether to keep to the light tests: asked for, or under the race detector.
func short() bool { return testing.Short() || underRaceDetector }

// ebuRates are the rates the cases are run at. Short runs keep to one rate and to signals up to 40 s.
func ebuRates() []int {
	if short() {
		return []int{48000}
	}
	return []int{44100, 48000, 96000}
}

func measure(rate int, planes ...[]float32) Result {
	m := New(rate, len(planes))
	m.Write(planes)
	return m.Result()
}

func TestTech3341Integrated(t *testing.T) {
	cases := []struct {
		number int
		steps  []tone
		want   float64
		steady bool // momentary and short-term read the same
	}{
		{1, []tone{{20, -23}}, -23, true},
		{2, []tone{{20, -33}}, -33, true},
		{3, []tone{{10, -36}, {60, -23}, {10, -36}}, -23, false},
		{4, []tone{{10, -72}, {10, -36}, {60, -23}, {10, -36}, {10, -72}}, -23, false},
		{5, []tone{{20, -26}, {20.1, -20}, {20, -26}}, -23, false},
	}
	for _, rate := range ebuRates() {
		for _, c := range cases {
			if short() && len(c.steps) > 1 {
				continue
			}
			t.Run(fmt.Sprintf("case %d at %d", c.number, rate), func(t *testing.T) {
				x := tones(rate, 1000, c.steps...)
				r := measure(rate, x, x)
				assert.InDelta(t, c.want, r.IntegratedLUFS, 0.1)
				if c.steady {
					assert.InDelta(t, c.want, r.MaxMomentaryLUFS, 0.1)
					assert.InDelta(t, c.want, r.MaxShortTermLUFS, 0.1)
				}
			})
		}
		t.Run(fmt.Sprintf("case 6 at %d", rate), func(t *testing.T) {
			front, centre, surround := tones(rate, 1000, tone{20, -28}), tones(rate, 1000, tone{20, -24}), tones(rate, 1000, tone{20, -30})
			r := measure(rate, front, front, centre, surround, surround)
			assert.InDelta(t, -23, r.IntegratedLUFS, 0.1)
			lfe := tones(rate, 60, tone{20, 0})
			r = measure(rate, front, front, centre, lfe, surround, surround)
			assert.InDelta(t, -23, r.IntegratedLUFS, 0.1, "5.1: the LFE does not count")
		})
	}
}

// live feeds a signal hop by hop and calls read after each with the time in seconds and the windows' loudness.
func live(rate int, x []float32, read func(seconds, momentary, shortTerm float64)) {
	m := New(rate, 2)
	for k := int64(0); m.hopBoundary(k+1) <= int64(len(x)); k++ {
		m.Write(stereo(x[m.hopBoundary(k):m.hopBoundary(k+1)]))
		w := &m.windows
		read(float64(k+1)/hopsPerSecond, lufs(w.momentary/w.momentarySamples), lufs(w.shortTerm/w.shortTermSamples))
	}
}

func TestTech3341SteadyWindows(t *testing.T) {
	for _, rate := range ebuRates() {
		t.Run(fmt.Sprintf("case 9 at %d", rate), func(t *testing.T) {
			x := tones(rate, 1000, repeated(5, tone{1.34, -20}, tone{1.66, -30})...)
			live(rate, x, func(seconds, _, shortTerm float64) {
				if seconds >= 3 {
					assert.InDelta(t, -23, shortTerm, 0.1, "%.2f s", seconds)
				}
			})
		})
		t.Run(fmt.Sprintf("case 12 at %d", rate), func(t *testing.T) {
			x := tones(rate, 1000, repeated(25, tone{0.18, -20}, tone{0.22, -30})...)
			live(rate, x, func(seconds, momentary, _ float64) {
				if seconds >= 1 {
					assert.InDelta(t, -23, momentary, 0.1, "%.2f s", seconds)
				}
			})
		})
	}
}

func TestTech3341Maxima(t *testing.T) {
	for _, rate := range ebuRates() {
		for i := range 20 {
			if short() && i%6 != 1 {
				continue
			}
			at := float64(i)
			t.Run(fmt.Sprintf("case 10 file %d at %d", i, rate), func(t *testing.T) {
				x := tones(rate, 1000, tone{0.15 * at, silence}, tone{3, -23}, tone{1, silence})
				assert.InDelta(t, -23, measure(rate, x, x).MaxShortTermLUFS, 0.1)
			})
			t.Run(fmt.Sprintf("case 13 file %d at %d", i, rate), func(t *testing.T) {
				x := tones(rate, 1000, tone{0.02 * at, silence}, tone{0.4, -23}, tone{1, silence})
				assert.InDelta(t, -23, measure(rate, x, x).MaxMomentaryLUFS, 0.1)
			})
		}
		// The live cases are one run of twenty tones, each 1 dB above the one before, so the maximum so far is that of
		// the latest tone.
		if short() {
			continue
		}
		shortTerm, momentary := New(rate, 2), New(rate, 2)
		for i := range 20 {
			at := float64(i)
			want := -38 + at
			x := tones(rate, 1000, tone{0.15 * at, silence}, tone{3, want}, tone{3 - 0.15*at, silence})
			shortTerm.Write(stereo(x))
			assert.InDelta(t, want, shortTerm.Result().MaxShortTermLUFS, 0.1, "case 11 tone %d at %d", i, rate)
			x = tones(rate, 1000, tone{0.02 * at, silence}, tone{0.4, want}, tone{0.4 - 0.02*at, silence})
			momentary.Write(stereo(x))
			assert.InDelta(t, want, momentary.Result().MaxMomentaryLUFS, 0.1, "case 14 tone %d at %d", i, rate)
		}
	}
}

func TestTech3342LoudnessRange(t *testing.T) {
	cases := []struct {
		number int
		dbfs   []float64 // 20 s each
		want   float64
		lufs   float64 // integrated, computed with float64 filters in Python (scipy 1.10.1); no case of the standard
	}{
		{1, []float64{-20, -30}, 10, -22.5897},
		{2, []float64{-20, -15}, 5, -16.8103},
		{3, []float64{-40, -20}, 20, -20.0257},
		{4, []float64{-50, -35, -20, -35, -50}, 15, -24.4919},
	}
	for _, rate := range ebuRates() {
		for _, c := range cases {
			if short() && len(c.dbfs) > 2 {
				continue
			}
			t.Run(fmt.Sprintf("case %d at %d", c.number, rate), func(t *testing.T) {
				var steps []tone
				for _, level := range c.dbfs {
					steps = append(steps, tone{20, level})
				}
				x := tones(rate, 1000, steps...)
				r := measure(rate, x, x)
				assert.InDelta(t, c.want, r.LoudnessRangeLU, 1, "EBU Tech 3342")
				assert.InDelta(t, c.want, r.LoudnessRangeLU, 0.02, "the levels differ by exactly that")
				assert.InDelta(t, c.lufs, r.IntegratedLUFS, 0.03, "the rates differ by 0.02 LU at 1 kHz")
			})
		}
	}
}

// fadedTone is a 0.5 s sine at base/divisor Hz with 10 ms linear fades; the phase is that of its first sample.
func fadedTone(rate, base, divisor int, a, degrees float64) []float32 {
	n, fade := rate/2, float64(rate)/100
	x := make([]float32, n)
	for i := range x {
		gain := min(1, float64(i)/fade, float64(n-1-i)/fade)
		phase := 2*math.Pi*float64(i)*float64(base)/float64(divisor)/float64(rate) + degrees*math.Pi/180
		x[i] = float32(gain * a * math.Sin(phase))
	}
	return x
}

// splicedTone is the signal of cases 20 to 23: at four times base, a sine at base/6 and half of full scale with one period
// of base/4 at full scale spliced in at a zero crossing; low-passed (the standard leaves the filter open: 257 taps, Kaiser
// beta 10, -6 dB at 0.45 base) and decimated, starting at the given offset.
func splicedTone(base, decimation, offset int) []float32 {
	const taps, beta = 257, 10.0
	h := make([]float64, taps)
	sum := 0.0
	for i := range h {
		t := float64(i - taps/2)
		r := t / (taps / 2)
		h[i] = 2 * 0.45 / 4
		if t != 0 {
			h[i] = math.Sin(2*math.Pi*0.45/4*t) / (math.Pi * t)
		}
		h[i] *= besselI0(beta*math.Sqrt(1-r*r)) / besselI0(beta)
		sum += h[i]
	}
	n := 2 * base // 0.5 s
	master := make([]float64, n+taps)
	splice := n / 2 / 24 * 24
	fade := float64(base) / 25
	for i := range n {
		a, phase := 0.5, float64(i)/24
		switch {
		case i >= splice && i < splice+16:
			a, phase = 1, float64(i-splice)/16
		case i >= splice+16:
			phase = float64(i-splice-16) / 24
		}
		gain := min(1, float64(i)/fade, float64(n-1-i)/fade)
		master[taps/2+i] = gain * a * math.Sin(2*math.Pi*phase)
	}
	var x []float32
	for i := offset; i < n; i += decimation {
		y := 0.0
		for k := range h {
			y += h[k] / sum * master[i+k]
		}
		x = append(x, float32(y))
	}
	return x
}

// Cases 15 to 23 are written in fractions of the sample rate. At 96 kHz, where the signal is oversampled twice and not
// four times, they are run with the frequencies the 48 kHz files have, in Hz; cases 15 to 19 also in fractions of 96 kHz.
func TestTech3341TruePeak(t *testing.T) {
	const over, under = 0.2, 0.4 // the standard's tolerance
	cases := []struct {
		number, divisor    int
		amplitude, degrees float64
		want               float64
	}{
		{15, 4, 0.50, 0, -6.0},
		{16, 4, 0.50, 45, -6.0},
		{17, 6, 0.50, 60, -6.0},
		{18, 8, 0.50, 67.5, -6.0},
		{19, 4, 1.41, 45, 3.0},
	}
	for _, at := range []struct{ rate, base int }{{44100, 44100}, {48000, 48000}, {96000, 48000}, {96000, 96000}} {
		for _, c := range cases {
			t.Run(fmt.Sprintf("case %d at %d, base %d", c.number, at.rate, at.base), func(t *testing.T) {
				got := measure(at.rate, fadedTone(at.rate, at.base, c.divisor, c.amplitude, c.degrees)).TruePeakDBTP
				assert.LessOrEqual(t, got, c.want+over)
				assert.GreaterOrEqual(t, got, c.want-under)
			})
		}
	}
	for _, at := range []struct{ rate, base int }{{44100, 44100}, {48000, 48000}, {96000, 48000}} {
		for offset := range 4 {
			t.Run(fmt.Sprintf("case %d at %d, base %d", 20+offset, at.rate, at.base), func(t *testing.T) {
				got := measure(at.rate, splicedTone(at.base, 4*at.base/at.rate, offset)).TruePeakDBTP
				assert.LessOrEqual(t, got, over)
				assert.GreaterOrEqual(t, got, -under)
			})
		}
	}
}

// With components at a quarter of 96 kHz, 24 kHz, twice the rate can miss the peak by an eighth of a turn more than the
// standard's tolerance for four times allows: BS.1770-5 Annex 2 attachment, -20 log10 cos(pi f / (n fs)).
func TestTwiceTheRateAtAQuarterOf96kHz(t *testing.T) {
	underRead := -20 * math.Log10(math.Cos(math.Pi/8))
	for offset := range 4 {
		got := measure(96000, splicedTone(96000, 4, offset)).TruePeakDBTP
		assert.LessOrEqual(t, got, 0.2)
		assert.GreaterOrEqual(t, got, -0.2-underRead, "offset %d", offset)
	}
}
