package timbre

import (
	"math"
	"math/rand/v2"
	"slices"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/spectrum"
)

// feed runs a meter over planes of samples, handed over in blocks of the given lengths, in turn.
func feed(m *Meter, rate int, planes [][]float32, blocks ...int) {
	stream := spectrum.NewStream(rate, len(planes), m)
	stream.Write(planes)
	stream.Close()
	if len(blocks) == 0 {
		blocks = []int{len(planes[0])}
	}
	for at, i := 0, 0; at < len(planes[0]); i++ {
		end := min(at+blocks[i%len(blocks)], len(planes[0]))
		block := make([][]float32, len(planes))
		for c := range planes {
			block[c] = planes[c][at:end]
		}
		m.Write(block)
		at = end
	}
}

func vectorOf(rate int, planes ...[]float32) []float32 {
	m := New(rate, len(planes))
	feed(m, rate, planes)
	return m.Vector()
}

func at(t *testing.T, v []float32, name string) float64 {
	t.Helper()
	i := slices.Index(Names, name)
	require.GreaterOrEqual(t, i, 0, name)
	return float64(v[i])
}

// tone is a harmonic sound: harmonics 1..n falling as 1/h, the fundamental moved by cents(t).
func tone(rate int, seconds, hz float64, n int, cents func(t float64) float64) []float32 {
	x := make([]float32, int(seconds*float64(rate)))
	var phase float64
	for i := range x {
		f := hz * math.Exp2(cents(float64(i)/float64(rate))/1200)
		phase += 2 * math.Pi * f / float64(rate)
		var v float64
		for h := 1; h <= n; h++ {
			if float64(h)*f < 0.45*float64(rate) {
				v += math.Sin(float64(h)*phase) / float64(h)
			}
		}
		x[i] = float32(0.2 * v)
	}
	return x
}

func flat(float64) float64 { return 0 }

// hits is noise in decaying bursts, rate of them a second.
func hits(fs int, seconds, perSecond, decayS float64, seed uint64) []float32 {
	r := rand.New(rand.NewPCG(seed, 1))
	x := make([]float32, int(seconds*float64(fs)))
	for i := range x {
		t := math.Mod(float64(i)/float64(fs), 1/perSecond)
		x[i] = float32(0.3 * r.NormFloat64() * math.Exp(-t/decayS))
	}
	return x
}

// material is a spread of sounds, all invented.
func material(rate int) map[string][]float32 {
	sparse := make([]float32, 8*rate)
	copy(sparse[3*rate:], tone(rate, 1, 330, 12, flat))
	return map[string][]float32{
		"tone":   tone(rate, 3, 220, 20, flat),
		"voice":  tone(rate, 3, 220, 20, func(t float64) float64 { return 50 * math.Sin(2*math.Pi*5.5*t) }),
		"hits":   hits(rate, 4, 4, 0.03, 1),
		"noise":  hits(rate, 3, 0.01, 1e9, 2),
		"sparse": sparse,
	}
}

func TestVectorIgnoresGainAndPolarity(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	for name, x := range material(48000) {
		want := vectorOf(48000, x)
		for _, gain := range []float32{-4, 3.98, 0.251} {
			y := make([]float32, len(x))
			for i := range x {
				y[i] = gain * x[i]
			}
			got := vectorOf(48000, y)
			for i := range got {
				assert.InDelta(t, want[i], got[i], 0.02, "%s x %g: %s", name, gain, Names[i])
			}
		}
	}
}

func TestVectorIgnoresHowTheSamplesAreCut(t *testing.T) {
	for name, x := range material(44100) {
		want := vectorOf(44100, x, x)
		for _, blocks := range [][]int{{1, 7, 0, 500}, {4096}} {
			m := New(44100, 2)
			feed(m, 44100, [][]float32{x, x}, blocks...)
			got := m.Vector()
			for i := range got {
				require.InDelta(t, want[i], got[i], 1e-3, "%s: %s", name, Names[i])
			}
		}
	}
}

func TestTwoEqualChannelsReadLikeOne(t *testing.T) {
	x := material(48000)["voice"]
	one, two := vectorOf(48000, x), vectorOf(48000, x, x)
	for i := range one {
		assert.InDelta(t, one[i], two[i], 1e-3, Names[i])
	}
}

func TestPausesHardlyCount(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	x := tone(48000, 4, 220, 20, func(t float64) float64 { return 50 * math.Sin(2*math.Pi*5.5*t) })
	padded := append(append(make([]float32, 20*48000), x...), make([]float32, 20*48000)...)
	a, b := vectorOf(48000, x), vectorOf(48000, padded)
	for _, n := range []string{"c1 mean", "c2 mean", "c5 mean", "50 % point oct", "pitch median oct", "vibrato depth log2 cents", "harmonicity", "crest dB"} {
		assert.InDelta(t, at(t, a, n), at(t, b, n), 0.35, n)
	}
}

// A pulse train of 220 Hz has its fundamental there and all power on harmonics (definition).
func TestPitchOfAHarmonicTone(t *testing.T) {
	for _, rate := range []int{22050, 44100, 48000, 96000} {
		for _, hz := range []float64{82.4, 110, 220, 440, 880} {
			v := vectorOf(rate, tone(rate, 1.5, hz, 20, flat))
			got := 300 * math.Exp2(at(t, v, "pitch median oct"))
			assert.InDelta(t, 0, 1200*math.Log2(got/hz), 30, "%d Hz sampling, %g Hz tone: got %g", rate, hz, got)
			assert.Greater(t, at(t, v, "pitched share"), 0.9)
			if hz >= 110 {
				assert.Greater(t, at(t, v, "harmonicity"), 0.8)
			}
			assert.Less(t, at(t, v, "vibrato depth log2 cents"), 1.0)
		}
	}
}

func TestNoiseHasNoPitch(t *testing.T) {
	v := vectorOf(48000, material(48000)["noise"])
	assert.Less(t, at(t, v, "pitched share"), 0.2)
	assert.Less(t, at(t, v, "harmonicity"), 0.3)
}

// A sinusoidal vibrato of known rate and depth is measured as such (definition).
func TestVibrato(t *testing.T) {
	if underRaceDetector {
		t.Skip("long, and one goroutine")
	}
	for _, c := range []struct{ hz, rate, depth float64 }{{220, 5.5, 50}, {330, 6.5, 30}, {440, 4.5, 80}, {220, 5, 20}} {
		v := vectorOf(48000, tone(48000, 6, c.hz, 16, func(t float64) float64 { return c.depth * math.Sin(2*math.Pi*c.rate*t) }))
		depth := math.Exp2(at(t, v, "vibrato depth log2 cents")) - 1
		assert.InDelta(t, c.depth, depth, 0.25*c.depth, "%g cents", c.depth)
		assert.Greater(t, at(t, v, "vibrato share"), 0.9)
		assert.Greater(t, at(t, v, "vibrato regularity"), 0.7)
		assert.InDelta(t, c.rate, at(t, v, "vibrato rate Hz"), 0.7)
	}
}

// Four hits a second; their power falls 10 dB in 0.1*ln(10)/2 = 0.115 s when the amplitude falls by e in 0.1 s (arithmetic).
func TestHitsAreCounted(t *testing.T) {
	v := vectorOf(48000, hits(48000, 8, 4, 0.1, 3))
	assert.InDelta(t, 2, at(t, v, "onsets log2 Hz"), 0.25)
	assert.InDelta(t, -2, at(t, v, "interval log2 s"), 0.2)
	assert.InDelta(t, math.Log2(0.115), at(t, v, "decay log2 s"), 0.8)
	assert.Greater(t, at(t, v, "interval regularity"), 0.9)
	held := vectorOf(48000, tone(48000, 8, 220, 10, flat))
	assert.Less(t, at(t, held, "onsets log2 Hz"), -1.0)
}

// Two vowels in turn on a steady pitch move the resonances; the same vowel held does not. Resonances of Peterson and
// Barney (1952), men: /a/ 730, 1090; /i/ 270, 2290.
func TestVowelsMoveTheResonances(t *testing.T) {
	sing := func(change bool) []float32 {
		rate, x := 48000.0, make([]float32, 6*48000)
		for i := range x {
			ts := float64(i) / rate
			f1, f2 := 730.0, 1090.0
			if change {
				m := 0.5 + 0.5*math.Sin(2*math.Pi*2.5*ts)
				f1, f2 = f1+m*(270-730), f2+m*(2290-1090)
			}
			for h := 1.0; h*150 < 5000; h++ {
				f := h * 150
				g := 1/(1+math.Pow((f-f1)/80, 2)) + 0.5/(1+math.Pow((f-f2)/100, 2)) + 0.01
				x[i] += float32(0.1 * g / math.Sqrt(h) * math.Sin(2*math.Pi*f*ts))
			}
		}
		return x
	}
	moved, held := vectorOf(48000, sing(true)), vectorOf(48000, sing(false))
	assert.Greater(t, at(t, moved, "articulation"), 10*at(t, held, "articulation"))
}

func TestStereoWidth(t *testing.T) {
	a, b := hits(48000, 3, 0.01, 1e9, 4), hits(48000, 3, 0.01, 1e9, 5)
	assert.InDelta(t, 0, at(t, vectorOf(48000, a, a), "stereo width"), 1e-3)
	assert.InDelta(t, math.Sqrt(0.5), at(t, vectorOf(48000, a, b), "stereo width"), 0.02, "independent channels: half the power is side")
}

func TestNothingBreaksTheMeter(t *testing.T) {
	nan, inf := float32(math.NaN()), float32(math.Inf(1))
	long := slices.Repeat([]float32{0.1, -0.2, nan, inf, math.MaxFloat32, 0}, 4000)
	for name, c := range map[string]struct {
		rate   int
		planes [][]float32
	}{
		"no channels": {48000, nil}, "one sample": {48000, [][]float32{{0.5}}}, "silence": {48000, [][]float32{make([]float32, 96000)}},
		"uneven planes": {48000, [][]float32{{1, 2, 3}, {1}}}, "rate 0": {0, [][]float32{{1, 2, 3}}}, "rate 1": {1, [][]float32{make([]float32, 50)}},
		"384 kHz": {384000, [][]float32{hits(384000, 1, 4, 0.1, 1)}}, "8 kHz": {8000, [][]float32{hits(8000, 3, 4, 0.1, 1)}},
		"not finite": {44100, [][]float32{long, long}},
	} {
		t.Run(name, func(t *testing.T) {
			m := New(c.rate, len(c.planes))
			m.Write(c.planes)
			for _, n := range []int{0, 1, spectrum.FrameSize(max(1, c.rate))/2 + 1} {
				for _, v := range []float32{0, nan, inf, -1, math.MaxFloat32, 1e-30, 1e-3} {
					m.Frame(slices.Repeat([]float32{v}, n))
				}
			}
			requireFinite(t, m.Vector())
		})
	}
	silent := vectorOf(48000, make([]float32, 96000))
	assert.InDeltaSlice(t, New(48000, 1).Vector(), silent, 1e-9)
}

func requireFinite(t *testing.T, v []float32) {
	t.Helper()
	require.Len(t, v, Size)
	for i, x := range v {
		require.False(t, math.IsNaN(float64(x)) || math.IsInf(float64(x), 0), Names[i])
	}
}

func FuzzMeter(f *testing.F) {
	f.Add(48000, 1, []byte{1, 2, 3, 4, 5, 6, 7, 8})
	f.Fuzz(func(t *testing.T, rate, channels int, b []byte) {
		if rate > 1e6 {
			rate = 1e6
		}
		channels = max(0, min(channels, 8))
		var x []float32
		for ; len(b) >= 4; b = b[4:] {
			x = append(x, math.Float32frombits(uint32(b[0])|uint32(b[1])<<8|uint32(b[2])<<16|uint32(b[3])<<24))
		}
		m := New(rate, channels)
		m.Write(slices.Repeat([][]float32{x}, channels))
		if len(x) > 0 {
			power := make([]float32, spectrum.FrameSize(max(1, rate))/2+1)
			for i := range power {
				power[i] = float32(math.Abs(float64(x[i%len(x)]))) // a power
			}
			m.Frame(power)
			m.Frame(power)
		}
		requireFinite(t, m.Vector())
	})
}

func TestNamesAreUnique(t *testing.T) {
	seen := map[string]bool{}
	for _, n := range Names {
		require.False(t, seen[n], n)
		seen[n] = true
	}
	assert.GreaterOrEqual(t, len(Names), 40)
	assert.LessOrEqual(t, len(Names), 170)
}

func BenchmarkFrame(b *testing.B) {
	m := New(48000, 1)
	r := rand.New(rand.NewPCG(1, 2))
	power := make([]float32, 2049)
	for i := range power {
		power[i] = float32(r.ExpFloat64() * 1e-4)
	}
	b.ReportAllocs()
	for b.Loop() {
		m.Frame(power)
	}
}

func BenchmarkWrite(b *testing.B) {
	m := New(48000, 1)
	x := [][]float32{hits(48000, 0.25, 4, 0.1, 1)}
	b.SetBytes(int64(len(x[0]))) // MB/s reads as million samples a second
	b.ReportAllocs()
	for b.Loop() {
		m.Write(x)
	}
}
