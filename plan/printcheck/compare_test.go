package printcheck

import (
	"math"
	"math/rand/v2"
	"os"
	"os/exec"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/testdata/underrace"
)

// Expected values of this file are what the chains of chain_test.go were told to do: they share no code with what is
// tested (delay by turning phase in one transform of the whole file, speed by a sinc of their own, equalizers after the
// Audio EQ Cookbook).

func TestWhereAndHowThePrintIs(t *testing.T) {
	underrace.Skip(t)
	for _, c := range []struct {
		name     string
		links    []link
		delay    float64
		gain     float64
		drift    float64
		polarity string
		swapped  bool
	}{
		{"the same file", nil, 0, 0, 0, "normal", false},
		{"gain", []link{gain(-2.37)}, 0, -2.37, 0, "normal", false},
		{"whole samples", []link{late(500)}, 500, 0, 0, "normal", false},
		{"parts of a sample", []link{late(1234.37), gain(-1.5)}, 1234.37, -1.5, 0, "normal", false},
		{"seconds", []link{late(3.7*testRate + 0.5)}, 3.7*testRate + 0.5, 0, 0, "normal", false},
		{"trimmed start, inverted", []link{late(0.25), gain(1), curved(func(v float64) float64 { return -v }), cut(1000, 12*testRate)}, -999.75, 1, 0, "inverted", false},
		{"sides swapped", []link{crossed, gain(-3)}, 0, -3, 0, "normal", true},
		{"swapped and inverted", []link{crossed, curved(func(v float64) float64 { return -v })}, 0, 0, 0, "inverted", true},
		{"one side inverted", []link{func(s stereo) stereo { return stereo{s[0], gain(0)(stereo{neg(s[1]), s[1]})[0]} }}, 0, 0, 0, "right inverted", false},
		{"50 ppm long", []link{tape(50)}, 0, 0, 50, "normal", false},
		{"500 ppm short", []link{tape(-500), late(20.6)}, 20.6, 0, -500, "normal", false},
		{"3 ppm", []link{tape(3)}, 0, 0, 3, "normal", false},
		{"noise at -45 dBFS", []link{late(99.9), hiss(-45)}, 99.9, 0, 0, "normal", false},
		{"a part of it", []link{cut(4*testRate, 9*testRate), gain(-1)}, -4 * testRate, -1, 0, "normal", false},
		{"three seconds of it", []link{cut(5*testRate+11, 8*testRate), hiss(-70)}, -5*testRate - 11, 0, 0, "normal", false},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := through(t, c.links...)
			assert.InDelta(t, c.delay, r.DelaySamples, 0.01)
			assert.InDelta(t, c.gain, r.GainDB, 0.01)
			assert.InDelta(t, c.drift, r.DriftPPM, 0.2)
			assert.Equal(t, c.polarity, r.Polarity)
			assert.Equal(t, c.swapped, r.Swapped)
			assert.Len(t, r.Segments, 1)
			assert.Empty(t, r.Events)
			assert.Nil(t, r.Lossy)
			for _, b := range r.Bands {
				if b.Coherence > 0.99 && b.Hz < 16000 {
					assert.InDelta(t, 0, b.DB, 0.02+2*b.CIDB, "%g Hz", b.Hz)
				}
			}
		})
	}
}

func neg(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[i] = -v
	}
	return y
}

func TestAnEqualizerIsReadAndDoesNotMoveTheDelay(t *testing.T) {
	underrace.Skip(t)
	low, mid := lowShelf(100, 1.5), peaking(3150, -2, 1)
	r := through(t, low.apply(), mid.apply(), late(777.6), gain(-1))
	assert.InDelta(t, 777.6, r.DelaySamples, 0.01)
	assert.Equal(t, "minimum phase", r.DelayReading)
	for _, b := range r.Bands {
		if b.Hz < 50 || b.Hz > 10000 || b.CIDB > 0.2 {
			continue
		}
		// Gain and band together are the response, averaged over the band: at its middle and edges (Simpson).
		want := (low.db(b.low) + mid.db(b.low) + 4*(low.db(b.Hz)+mid.db(b.Hz)) + low.db(b.high) + mid.db(b.high)) / 6
		assert.InDelta(t, want-1, b.DB+r.GainDB, 0.15+b.CIDB, "%g Hz", b.Hz)
	}
	assert.Less(t, r.LinearResidualDB, -50.0, "an equalizer is a linear filter")
	assert.Contains(t, r.Words(), "upper mids -1.")
	assert.Equal(t, Yes, verdictOf(r, "upper mids smoother"))
	assert.Equal(t, No, verdictOf(r, "wider"))
}

func TestTheLinearRestIsTheNoise(t *testing.T) {
	underrace.Skip(t)
	// The print's rms is known, and so is the noise that was added: their ratio is what no filter explains.
	m := testMix(t)
	var sum float64
	for c := range m {
		for _, v := range m[c] {
			sum += v * v
		}
	}
	rms := 10 * math.Log10(sum/float64(2*len(m[0])))
	for _, noise := range []float64{-50, -70} {
		r := through(t, lowShelf(200, 2).apply(), hiss(noise))
		assert.InDelta(t, noise-rms, r.LinearResidualDB, 1.5, "the shelf lifts the print a little")
	}
}

func TestWhatTheChainAdds(t *testing.T) {
	underrace.Skip(t)
	t.Run("hum", func(t *testing.T) {
		for _, hz := range []float64{50, 60} {
			r := through(t, mains(hz, -62), mains(3*hz, -70), hiss(-80))
			require.NotNil(t, r.Hum)
			assert.Equal(t, hz, r.Hum.Hz)
			assert.InDelta(t, 10*math.Log10(math.Pow(10, -6.2)+math.Pow(10, -7)), r.Hum.DBFS, 3, "twelve seconds with a bass at the same place")
		}
		assert.Nil(t, through(t, gain(-1)).Hum)
	})
	t.Run("noise", func(t *testing.T) {
		r := through(t, hiss(-64))
		require.NotNil(t, r.Noise)
		// White noise to 24 kHz; 20 Hz to 20 kHz of it is 0.8 dB less.
		assert.InDelta(t, -64-10*math.Log10(24./20), r.Noise.DBFS, 0.7)
		assert.Less(t, r.Noise.DBFSA, r.Noise.DBFS)
	})
	t.Run("harmonics", func(t *testing.T) {
		// y = x + c2 x^2 + c3 x^3: HD2 = c2 A / 2, HD3 = c3 A^2 / 4 to first order (closed form, references of AES and IEC
		// 60268-3 on harmonic distortion).
		r := through(t, curved(func(v float64) float64 { return v + 0.04*v*v - 0.1*v*v*v }), hiss(-90))
		require.NotNil(t, r.Harm)
		a := math.Pow(10, r.Harm.AtDBFS/20)
		// The song is made of tones whose partials keep their phase, so a filter that lifts a second partial does what a square
		// does: a part of it is taken for linear.
		assert.InEpsilon(t, 100*0.04*a/2, r.Harm.SecondPercent, 0.3)
		assert.InEpsilon(t, 100*0.1*a*a/4, r.Harm.ThirdPercent, 0.3)
		r = through(t, gain(-1), hiss(-80))
		assert.Less(t, r.Harm.SecondPercent, 0.01)
		assert.Less(t, r.Harm.ThirdPercent, 0.01)
	})
	t.Run("compression", func(t *testing.T) {
		r := through(t, squeeze(-24, 3))
		require.NotEmpty(t, r.Curve)
		first, last := r.Curve[0], r.Curve[len(r.Curve)-1]
		assert.Less(t, last.GainDB, first.GainDB-0.5, "loud passages come back softer")
		flat := through(t, gain(-3))
		for _, p := range flat.Curve {
			assert.InDelta(t, 0, p.GainDB, 0.01)
		}
		assert.Equal(t, No, verdictOf(flat, "glued together"))
	})
}

func TestSquaresAndCubesOfNoise(t *testing.T) {
	// Without partials in step the coefficients come back as they were put in.
	rng := rand.New(rand.NewPCG(3, 5))
	p := newPolynomial(testRate)
	u, e := planes(1<<14), planes(1<<14)
	for range 20 {
		for c := range u {
			for i := range u[c] {
				v := 0.1 * rng.NormFloat64()
				u[c][i], e[c][i] = float32(v), float32(0.001*v+0.04*v*v-0.1*v*v*v)
			}
		}
		p.write(u, e)
	}
	got, ok := p.coefficients()
	require.True(t, ok)
	assert.InDelta(t, 0.04, got[2], 1e-4)
	assert.InDelta(t, -0.1, got[3], 1e-3)
	assert.InDelta(t, 1, p.explained(), 1e-3)
}

func TestCutsAndPauses(t *testing.T) {
	underrace.Skip(t)
	at := 5*testRate + 123
	for _, c := range []struct {
		name string
		link link
		jump float64
	}{
		{"a lost buffer", lose(at, 256), -256},
		{"a lost second", lose(at, testRate), -testRate},
		{"a pause", pause(at, 20000), 20000},
		{"nine samples", lose(at, 9), -9},
	} {
		t.Run(c.name, func(t *testing.T) {
			r := through(t, late(40), c.link)
			assert.InDelta(t, 40, r.DelaySamples, 0.01)
			require.Len(t, r.Segments, 2)
			assert.InDelta(t, c.jump, r.Segments[1].JumpSamples, 0.05)
			assert.InDelta(t, float64(at-40)/testRate, r.Segments[0].ToS, 0.05, "where it happened")
			assert.Less(t, r.LinearResidualDB, -45.0, "what was cut is not counted as a change of sound")
		})
	}
}

func TestClicksAndDropouts(t *testing.T) {
	underrace.Skip(t)
	r := through(t, func(s stereo) stereo {
		for c := range s {
			clear(s[c][3*testRate : 3*testRate+testRate/20])
		}
		clear(s[1][7*testRate : 7*testRate+480])
		s[0][9*testRate] += 0.4
		return s
	})
	var kinds []string
	for _, e := range r.Events {
		kinds = append(kinds, e.Kind+" "+e.Side)
		switch {
		case e.Kind == "dropout" && e.Side == "both":
			assert.InDelta(t, 3, e.MixS, 0.003)
			assert.InDelta(t, 50, e.LengthMS, 3)
		case e.Kind == "dropout":
			assert.InDelta(t, 7, e.MixS, 0.003)
			assert.InDelta(t, 10, e.LengthMS, 3)
		default:
			assert.InDelta(t, 9, e.MixS, 0.003)
			assert.InDelta(t, 20*math.Log10(0.4), e.LevelDBFS, 0.5)
		}
	}
	assert.ElementsMatch(t, []string{"dropout both", "dropout right", "click left"}, kinds)
	assert.InDelta(t, 0, r.GainDB, 0.01, "a dropout is no gain")
}

func TestAWholeChain(t *testing.T) {
	// Everything at once, as an analogue trip does it.
	low := lowShelf(100, 1.2)
	r := through(t, low.apply(), curved(func(v float64) float64 { return math.Tanh(1.2*v) / 1.2 }), hiss(-75), mains(50, -66), tape(12), late(2210.4), gain(-0.7))
	assert.InDelta(t, 2210.4, r.DelaySamples, 0.05)
	assert.InDelta(t, 12, r.DriftPPM, 0.2)
	assert.InDelta(t, -0.7, r.GainDB, 0.25, "the curve takes a little of the level")
	assert.InDelta(t, low.db(63)-low.db(1000), band1(t, r, 63).DB-band1(t, r, 1000).DB, 0.3)
	assert.Nil(t, r.Lossy, "a chain that saturates is no codec")
	assert.Equal(t, No, verdictOf(r, "wider"))
}

func TestWiderIsFound(t *testing.T) {
	underrace.Skip(t)
	r := through(t, func(s stereo) stereo {
		out := stereo{make([]float64, len(s[0])), make([]float64, len(s[0]))}
		for i := range s[0] {
			m, d := (s[0][i]+s[1][i])/2, (s[0][i]-s[1][i])/2
			out[0][i], out[1][i] = m+1.26*d, m-1.26*d // 2 dB more side
		}
		return out
	})
	assert.Equal(t, Yes, verdictOf(r, "wider"))
	assert.Less(t, r.LinearResidualDB, -50.0, "width is linear")
	for _, w := range r.Width {
		if w.FromHz > 200 && w.ToHz < 8000 {
			assert.InDelta(t, 20*math.Log10(1.26), float64(w.PrintSideDB-w.MixSideDB), 0.05)
		}
	}
}

func TestOtherRatesAndMono(t *testing.T) {
	underrace.Skip(t)
	dir := t.TempDir()
	m := testMix(t)
	mix := save(t, filepath.Join(dir, "mix.wav"), testRate, m)
	t.Run("44.1 kHz, made by sox", func(t *testing.T) {
		sox, err := exec.LookPath("sox")
		needs(t, err, "sox")
		for _, rate := range []string{"44100", "96000"} {
			print := filepath.Join(dir, rate+".wav")
			out, err := exec.Command(sox, mix, "-b", "24", print, "rate", "-v", rate).CombinedOutput()
			require.NoError(t, err, string(out))
			r, err := Compare(t.Context(), mix, print, Options{})
			require.NoError(t, err)
			assert.InDelta(t, 0, r.DelaySamples, 0.01, rate)
			assert.InDelta(t, 0, r.GainDB, 0.01, rate)
			assert.InDelta(t, 0, r.DriftPPM, 0.1, rate)
		}
	})
	t.Run("mono", func(t *testing.T) {
		one := make([]float64, len(m[0]))
		for i := range one {
			one[i] = (m[0][i] + m[1][i]) / 2
		}
		print := savePlanes(t, filepath.Join(dir, "mono.wav"), testRate, wavfile.PCM24, [][]float64{one})
		r, err := Compare(t.Context(), mix, print, Options{})
		require.NoError(t, err)
		assert.InDelta(t, 0, r.DelaySamples, 0.01)
		assert.Contains(t, r.Notes[0], "mono")
	})
	t.Run("16 bit", func(t *testing.T) {
		half := gain(-6)(m)
		print := savePlanes(t, filepath.Join(dir, "16.wav"), testRate, wavfile.PCM16, [][]float64{half[0], half[1]})
		r, err := Compare(t.Context(), mix, print, Options{})
		require.NoError(t, err)
		assert.InDelta(t, -6, r.GainDB, 0.01)
	})
}

func TestLossyCodecsAreSeen(t *testing.T) {
	underrace.Skip(t)
	ffmpeg, err := exec.LookPath("ffmpeg")
	needs(t, err, "ffmpeg")
	dir := t.TempDir()
	mix := save(t, filepath.Join(dir, "mix.wav"), testRate, testMix(t))
	for _, c := range []struct{ name, codec, rate, ext string }{
		{"mp3", "libmp3lame", "128k", "mp3"}, {"aac", "aac", "128k", "m4a"}, {"vorbis", "libvorbis", "128k", "ogg"},
	} {
		packed, print := filepath.Join(dir, c.name+"."+c.ext), filepath.Join(dir, c.name+".wav")
		out, err := exec.Command(ffmpeg, "-v", "error", "-i", mix, "-c:a", c.codec, "-b:a", c.rate, packed).CombinedOutput()
		require.NoError(t, err, string(out))
		out, err = exec.Command(ffmpeg, "-v", "error", "-i", packed, "-c:a", "pcm_s24le", print).CombinedOutput()
		require.NoError(t, err, string(out))
		r, err := Compare(t.Context(), mix, print, Options{})
		require.NoError(t, err)
		// ffmpeg 5.1 takes the encoder's delay off again.
		assert.InDelta(t, 0, r.DelaySamples, 0.02, c.name)
		assert.InDelta(t, 0, r.GainDB, 0.6, "%s; the encoder of mp3 turns 128 kbit/s down by 0.45 dB", c.name)
		require.NotNil(t, r.Lossy, c.name)
		assert.Contains(t, r.Notes, r.Lossy.Text)
	}
}

func TestWhatIsRefused(t *testing.T) {
	underrace.Skip(t)
	dir := t.TempDir()
	m := testMix(t)
	mix := save(t, filepath.Join(dir, "mix.wav"), testRate, m)
	rng := rand.New(rand.NewPCG(1, 2))
	other := stereo{make([]float64, len(m[0])), make([]float64, len(m[0]))}
	for i := range other[0] {
		beat := math.Exp(-float64(i%26000) / 4000)
		other[0][i] = 0.3 * beat * rng.NormFloat64()
		other[1][i] = other[0][i] + 0.05*math.Sin(float64(i)*0.03)
	}
	empty := stereo{make([]float64, 3*testRate), make([]float64, 3*testRate)}
	text := filepath.Join(dir, "text.wav")
	require.NoError(t, os.WriteFile(text, []byte("no audio at all"), 0o644))
	for _, c := range []struct{ name, print, want string }{
		{"another song", save(t, filepath.Join(dir, "other.wav"), testRate, other), "do not hold the same music"},
		{"backwards", save(t, filepath.Join(dir, "back.wav"), testRate, stereo{reversed(m[0]), reversed(m[1])}), "do not hold the same music"},
		{"silence", save(t, filepath.Join(dir, "silent.wav"), testRate, empty), "silence"},
		{"too short", save(t, filepath.Join(dir, "short.wav"), testRate, stereo{m[0][:100], m[1][:100]}), "at least 0.5 s"},
		{"no WAV", text, "text.wav"},
		{"missing", filepath.Join(dir, "gone.wav"), "gone.wav"},
		{"surround", savePlanes(t, filepath.Join(dir, "six.wav"), testRate, wavfile.PCM16, [][]float64{m[0], m[0], m[0], m[0], m[0], m[0]}), "6 channels"},
	} {
		_, err := Compare(t.Context(), mix, c.print, Options{})
		assert.ErrorContains(t, err, c.want, c.name)
	}
	_, err := Compare(t.Context(), mix, filepath.Join(dir, "other.wav"), Options{})
	assert.ErrorIs(t, err, ErrUnrelated)
}

func reversed(x []float64) []float64 {
	y := make([]float64, len(x))
	for i, v := range x {
		y[len(x)-1-i] = v
	}
	return y
}
