package aside_test

import (
	"fmt"
	"math"
	"math/rand/v2"
	"path/filepath"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/fold"
	"foldout/plan/sheet"
	"foldout/testdata/song"
)

const rateHz = 48000

// The invented song with what is no track beside it, under names that say so and under names that say nothing. (The files are
// invented; that a sum of tracks is a mix, a 1 kHz sine a tone and stationary noise noise needs no source.)
func TestWhatIsNoTrackIsSetAside(t *testing.T) {
	for _, c := range []struct {
		name  string
		files map[string]string // kind, name
	}{
		{"named", map[string]string{"mix": "Rough mix 2.wav", "click": "Click.wav", "tone": "1k tone.wav", "noise": "Room tone.wav", "duplicate": "Piano copy.wav"}},
		{"unnamed", map[string]string{"mix": "Audio 31.wav", "click": "Audio 32.wav", "tone": "Audio 33.wav", "noise": "Audio 34.wav", "duplicate": "Audio 35.wav"}},
	} {
		t.Run(c.name, func(t *testing.T) {
			dir := t.TempDir()
			mix := make([]float32, 12*rateHz)
			var piano []float32
			song.Write(t, dir, func(name string, x []float32) {
				for i, v := range x {
					mix[i] += 0.4 * v
				}
				if name == "Piano.wav" {
					piano = append(piano, x...)
				}
			})
			for kind, x := range map[string][]float32{"mix": squeeze(mix), "click": pips(), "tone": sine(), "noise": hiss(), "duplicate": piano} {
				write(t, filepath.Join(dir, c.files[kind]), x)
			}
			s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1})
			got := map[string]string{}
			for _, a := range s.Aside {
				got[a.File] = a.Kind
				assert.NotEmpty(t, a.Reason)
			}
			for _, q := range s.Asked {
				got[q.File] = "asked: " + q.Kind
			}
			want := map[string]string{"Spare.wav": "silent"}
			for kind, file := range c.files {
				want[file] = kind
			}
			assert.Equal(t, want, got)
		})
	}
}

// What sounds unlike an instrument may be a track all the same: it stays, by whatever name. All sounds are invented.
func TestStrangeTracksStay(t *testing.T) {
	for _, named := range []bool{true, false} {
		dir := t.TempDir()
		song.Write(t, dir, nil)
		n := 0
		strange := map[string]string{}
		for name, x := range map[string][]float32{"Spoken intro": intro(), "Drum Loop": loop(), "Orchestra Bus": orchestra(), "Vocoder": vocoder()} {
			n++
			file := name + ".wav"
			if !named {
				file = fmt.Sprintf("Audio %02d.wav", 40+n)
			}
			strange[file] = name
			write(t, filepath.Join(dir, file), x)
		}
		s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1})
		for _, a := range s.Aside {
			assert.Equal(t, "Spare.wav", a.File, "%s is set aside: %s (%s)", strange[a.File], a.Kind, a.Reason)
		}
	}
}

// A full organ fills the spectrum from end to end, claps on the beat are explained by anything, and a kit through a hard curve sounds
// like a piece of music: none is set aside. All sounds are invented.
func TestDenseTracksStay(t *testing.T) {
	dir := t.TempDir()
	kit := make([]float32, 12*rateHz)
	song.Write(t, dir, func(name string, x []float32) {
		if name == "Kick In.wav" || name == "Snare Top.wav" || name == "Hat.wav" || name == "Shaker.wav" {
			for i, v := range x {
				kit[i] += v
			}
		}
	})
	claps := make([]float32, 12*rateHz)
	rng := rand.New(rand.NewPCG(11, 12))
	for beat := range 12 {
		for i := range rateHz / 5 {
			claps[beat*rateHz+rateHz/2+i] = float32(rng.NormFloat64() * 0.3 * math.Exp(-float64(i)/2000))
		}
	}
	for i, v := range kit {
		kit[i] = float32(0.3 * math.Tanh(12*float64(v)))
	}
	write(t, filepath.Join(dir, "Audio 41.wav"), plenum(1), plenum(2))
	write(t, filepath.Join(dir, "Audio 42.wav"), claps)
	write(t, filepath.Join(dir, "Audio 43.wav"), kit, kit)
	s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1, EarsOnly: true})
	for _, a := range s.Aside {
		assert.Equal(t, "Spare.wav", a.File, "%s (%s)", a.Kind, a.Reason)
	}
}

// plenum is a full organ: five octaves of pipes, three notes, twelve partials, and the wind.
func plenum(seed uint64) []float32 {
	rng := rand.New(rand.NewPCG(seed, 14))
	x := make([]float32, 12*rateHz)
	for c, chord := range [][]float64{{0, 4, 7}, {5, 9, 12}, {7, 11, 14}, {0, 4, 7}} {
		for octave := range 6 {
			for _, note := range chord {
				f := 32.7 * math.Pow(2, float64(octave)+note/12)
				for p := 1.0; p <= 12 && f*p < 18000; p++ {
					phase := 2 * math.Pi * rng.Float64()
					for i := range 3 * rateHz {
						x[c*3*rateHz+i] += float32(0.006 / math.Sqrt(p) * math.Sin(2*math.Pi*f*p*float64(i)/rateHz+phase))
					}
				}
			}
		}
	}
	for i := range x {
		x[i] += float32(0.002 * rng.NormFloat64())
	}
	return x
}

// A file that is called a mix and that the tracks do not add up to is asked about at the least: the user knows.
func TestAMixByNameAloneIsAskedAbout(t *testing.T) {
	dir := t.TempDir()
	song.Write(t, dir, nil)
	write(t, filepath.Join(dir, "Rough mix 3.wav"), intro())
	s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1})
	require.Len(t, s.Asked, 1)
	assert.Equal(t, "Rough mix 3.wav", s.Asked[0].File)
	assert.Equal(t, "mix", s.Asked[0].Kind)
}

// Test signals that move, hum, and a version of the song by its name, are asked about; the tracks beside them are not. (The
// files are invented.)
func TestWhatMayBeNoTrackIsAskedAbout(t *testing.T) {
	dir := t.TempDir()
	song.Write(t, dir, nil)
	n := 12 * rateHz
	sweep, hum, bursts := make([]float32, n), make([]float32, n), hiss()
	phase := 0.0
	for i := range n {
		phase += 2 * math.Pi * 40 * math.Pow(300, math.Mod(float64(i)/rateHz, 6)/6) / rateHz // 40 Hz to 12 kHz in 6 s
		sweep[i] = float32(0.2 * math.Sin(phase))
		for k := 1.0; k < 6; k++ {
			hum[i] += float32(0.01 / k * math.Sin(2*math.Pi*50*k*float64(i)/rateHz))
		}
		if math.Mod(float64(i)/rateHz, 2) > 1.5 {
			bursts[i] = 0
		} else {
			bursts[i] *= 20
		}
	}
	for file, x := range map[string][]float32{"Audio 41.wav": sweep, "Audio 42.wav": hum, "Audio 43.wav": bursts, "Lamps (Acapella).wav": orchestra()} {
		write(t, filepath.Join(dir, file), x)
	}
	s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1})
	asked := map[string]string{}
	for _, q := range s.Asked {
		asked[q.File] = q.Kind
	}
	assert.Equal(t, map[string]string{"Audio 41.wav": "tone", "Audio 42.wav": "noise", "Audio 43.wav": "noise", "Lamps (Acapella).wav": "stem"}, asked)
	require.Len(t, s.Aside, 1)
	assert.Equal(t, "Spare.wav", s.Aside[0].File)
}

// The print is the mix that comes later: its way through the unit takes 5 ms here.
func TestThePrintIsTheLaterMix(t *testing.T) {
	dir := t.TempDir()
	mix := make([]float32, 12*rateHz)
	song.Write(t, dir, func(_ string, x []float32) {
		for i, v := range x {
			mix[i] += 0.4 * v
		}
	})
	print := make([]float32, len(mix))
	for i := 240; i < len(print); i++ {
		print[i] = float32(math.Tanh(0.3 * float64(mix[i-240])))
	}
	write(t, filepath.Join(dir, "Audio 31.wav"), print)
	write(t, filepath.Join(dir, "Audio 32.wav"), mix)
	s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1})
	kinds := map[string]string{}
	for _, a := range s.Aside {
		kinds[a.File] = a.Kind
	}
	assert.Equal(t, map[string]string{"Spare.wav": "silent", "Audio 31.wav": "print", "Audio 32.wav": "mix"}, kinds)
}

// A song of one track is a track.
func TestASongOfOneTrackStays(t *testing.T) {
	for _, x := range [][]float32{orchestra(), loop(), vocoder()} {
		dir := t.TempDir()
		write(t, filepath.Join(dir, "Audio 1.wav"), x)
		assert.Empty(t, prepare(t, dir, fold.Options{Pairs: 1, Seed: 1}).Aside)
	}
}

func TestTheUserDecidesWhatIsATrack(t *testing.T) {
	dir := t.TempDir()
	song.Write(t, dir, nil)
	write(t, filepath.Join(dir, "Click.wav"), pips())
	s := prepare(t, dir, fold.Options{Pairs: 4, Seed: 1, Include: []string{"click"}, Exclude: []string{"BV*"}})
	assert.Equal(t, []sheet.SetAside{
		{File: "BV 1.wav", Kind: "excluded", Certainty: 1, Reason: "you excluded it (BV*)"},
		{File: "Spare.wav", Kind: "silent", Certainty: 1, Reason: "silent: nothing rises above the noise floor"},
	}, s.Aside)
}

// A folder that holds nothing but one track, or nothing but suspects, keeps them.
func TestALoneTrackStays(t *testing.T) {
	dir := t.TempDir()
	write(t, filepath.Join(dir, "Full mix.wav"), pips())
	s := prepare(t, dir, fold.Options{Pairs: 1, Seed: 1})
	assert.Empty(t, s.Aside)
}

func prepare(t *testing.T, dir string, opt fold.Options) *fold.Session {
	s, err := fold.Prepare(dir, song.MeasureFolder(t, dir), opt)
	require.NoError(t, err)
	return s
}

func write(t *testing.T, path string, channels ...[]float32) {
	w, err := wavfile.Create(path, wavfile.Format{SampleRateHz: rateHz, Channels: len(channels), Encoding: wavfile.Float32}, false)
	require.NoError(t, err)
	require.NoError(t, w.Write(channels))
	require.NoError(t, w.Close())
}

// squeeze drives a sum through a soft curve, 5 ms later.
func squeeze(x []float32) []float32 {
	y := make([]float32, len(x))
	for i := 240; i < len(x); i++ {
		y[i] = float32(math.Tanh(float64(x[i-240])))
	}
	return y
}

func pips() []float32 {
	x := make([]float32, 12*rateHz)
	for beat := range 24 {
		f := 1200.0
		if beat%4 == 0 {
			f = 1600
		}
		for i := range rateHz / 40 {
			x[beat*rateHz/2+i] = float32(0.4 * math.Sin(2*math.Pi*f*float64(i)/rateHz) * math.Exp(-float64(i)/300))
		}
	}
	return x
}

// syllables is a buzz of 110 Hz with two resonances that move from syllable to syllable, four a second.
func syllables(seconds float64, carrier func(i int) float64) []float32 {
	rng := rand.New(rand.NewPCG(3, 4))
	x := make([]float32, int(seconds*rateHz))
	var y1, y2, z1, z2, f1, f2, env float64
	for i := range x {
		at := i % (rateHz / 4)
		if at == 0 {
			f1, f2, env = 300+500*rng.Float64(), 900+1400*rng.Float64(), 0.4+0.6*rng.Float64()
		}
		in := carrier(i)
		r := math.Exp(-math.Pi * 90 / rateHz)
		y := in + 2*r*math.Cos(2*math.Pi*f1/rateHz)*y1 - r*r*y2
		y1, y2 = y, y1
		z := in + 2*r*math.Cos(2*math.Pi*f2/rateHz)*z1 - r*r*z2
		z1, z2 = z, z1
		x[i] = float32(0.002 * env * (y + 0.6*z) * math.Sin(math.Pi*float64(at)/(rateHz/4)))
	}
	return x
}

// intro speaks for three seconds and rests.
func intro() []float32 {
	x := make([]float32, 12*rateHz)
	copy(x, syllables(3, func(i int) float64 {
		if i%(rateHz/110) == 0 {
			return 30
		}
		return 0
	}))
	return x
}

// vocoder speaks with a chord of saws and noise for a voice, from end to end.
func vocoder() []float32 {
	rng := rand.New(rand.NewPCG(5, 6))
	return syllables(12, func(i int) float64 {
		v := 0.3 * rng.NormFloat64()
		for _, f := range []float64{110, 138.6, 164.8, 220} {
			v += 2 * (math.Mod(float64(i)*f/rateHz, 1) - 0.5)
		}
		return v
	})
}

// loop is a kit of its own on one file.
func loop() []float32 {
	rng := rand.New(rand.NewPCG(7, 8))
	x := make([]float32, 12*rateHz)
	for step := range 48 {
		for i := range rateHz / 4 {
			t := float64(i) / rateHz
			v := 0.12 * rng.NormFloat64() * math.Exp(-60*t)
			if step%4 == 0 || step%16 == 6 {
				v += 0.6 * math.Sin(2*math.Pi*(55*t+6*math.Exp(-50*t))) * math.Exp(-12*t)
			}
			if step%8 == 4 {
				v += 0.3 * rng.NormFloat64() * math.Exp(-20*t)
			}
			x[step*rateHz/4+i] = float32(v)
		}
	}
	return x
}

// orchestra is thirty players on the notes of slow chords, five octaves of them.
func orchestra() []float32 {
	rng := rand.New(rand.NewPCG(9, 10))
	x := make([]float32, 12*rateHz)
	chords := [][]float64{{0, 4, 7}, {5, 9, 12}, {7, 11, 14}, {0, 4, 7}}
	for range 30 {
		octave := 55 * math.Pow(2, float64(rng.IntN(5)))
		phase, wobble := rng.Float64(), 4.5+2*rng.Float64()
		for c, chord := range chords {
			f := octave * math.Pow(2, chord[rng.IntN(3)]/12) * (1 + 0.002*rng.NormFloat64())
			swell := 0.5 + 0.5*rng.Float64()
			for i := range 3 * rateHz {
				t := float64(i) / rateHz
				env := swell * math.Min(1, math.Min(t/0.3, (3-t)/0.3))
				turn := 2 * math.Pi * (f*t + phase + 0.02*f/100*math.Sin(2*math.Pi*wobble*t))
				x[c*3*rateHz+i] += float32(0.02 * env * (math.Sin(turn) + 0.5*math.Sin(2*turn) + 0.3*math.Sin(3*turn) + 0.2*math.Sin(4*turn)))
			}
		}
	}
	return x
}

func sine() []float32 {
	x := make([]float32, 12*rateHz)
	for i := range x {
		x[i] = float32(0.126 * math.Sin(2*math.Pi*1000*float64(i)/rateHz))
	}
	return x
}

func hiss() []float32 {
	rng := rand.New(rand.NewPCG(1, 2))
	x := make([]float32, 12*rateHz)
	for i := range x {
		x[i] = float32(0.003 * rng.NormFloat64())
	}
	return x
}
