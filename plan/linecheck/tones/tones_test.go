package tones

import (
	"context"
	"math"
	"os"
	"path/filepath"
	"strings"
	"testing"

	"github.com/stretchr/testify/assert"
	"github.com/stretchr/testify/require"

	"foldout/features/wavfile"
	"foldout/plan/rig"
)

// The project asks for under 90 s for 8 outputs with quick, under 4 minutes for 16 without.
func TestLength(t *testing.T) {
	for _, rate := range Rates {
		assert.Less(t, NewProgram(rate, 8, true).Seconds(), 90.0)
		assert.Less(t, NewProgram(rate, 16, false).Seconds(), 240.0)
	}
}

func TestNothingOverlaps(t *testing.T) {
	for _, n := range []int{2, 8, 34} {
		g := NewProgram(48000, n, true)
		at := 0.0
		next := func(what string, s Span) {
			assert.GreaterOrEqual(t, s.Start, at, "%s of %d outputs", what, n)
			at = s.End()
		}
		next("first sync", g.First.Span)
		for _, s := range g.Slots {
			next("sweep", s.Sweep)
			next("tone", s.Tone)
			next("six tones", s.Multitone)
			next("silence", s.Silence)
		}
		next("together", g.Together)
		next("silence", g.Silence)
		next("long tone", g.LongTone)
		next("last sync", g.Last.Span)
		assert.Less(t, at, g.Seconds())
	}
}

// Moved against itself the pattern of chirps never meets more than half of itself, within the 4 ms of slack that the
// search allows: so that a sync signal is found at one place, also when outputs are dead.
func TestSyncFitsItselfAtOnePlace(t *testing.T) {
	for _, n := range []int{2, 4, 8, 16, 32} {
		g := NewProgram(48000, n, true)
		for _, s := range []Sync{g.First, g.Last} {
			var times []float64
			for _, at := range s.At {
				times = append(times, at...)
			}
			for shift := 0.020; shift < s.Span.Seconds; shift += 0.002 {
				meets := 0
				for _, a := range times {
					for _, b := range times {
						if math.Abs(a+shift-b) <= 0.004 {
							meets++
						}
					}
				}
				assert.LessOrEqual(t, float64(meets), max(1, float64(len(times))/2), "%d outputs, %.3f s", n, shift)
			}
		}
	}
}

// Synchronised sweep (Novak et al. 2015): f1 L is a whole number, so that the n-th harmonic is the sweep itself, earlier by
// L ln(n).
func TestSweepIsSynchronised(t *testing.T) {
	for _, seconds := range []float64{3.5, 5.5} {
		s := NewSweep(48000, seconds)
		assert.InDelta(t, math.Round(s.LowHz*s.L), s.LowHz*s.L, 1e-9)
		for _, at := range []float64{1, 1.7, 2} {
			assert.InDelta(t, math.Sin(3*s.Phase(at)), math.Sin(s.Phase(at+s.Advance(3))), 1e-6)
		}
		assert.InDelta(t, 1000, s.LowHz*math.Exp(s.TimeOf(1000)/s.L), 1e-6)
	}
}

func TestFilesOnDisk(t *testing.T) {
	dir := filepath.Join(t.TempDir(), "tones")
	p := ForPairs(2)
	require.NoError(t, p.Write(context.Background(), Options{Dir: dir, RateHz: 44100, Encoding: wavfile.PCM16, Quick: true, LevelDB: -20}))
	for _, name := range []string{"01-02.wav", "03-04.wav"} {
		r, err := wavfile.Open(filepath.Join(dir, name))
		require.NoError(t, err)
		info := r.Info()
		assert.Equal(t, p.Frames, info.Frames, "all of one length")
		assert.Equal(t, []int{44100, 2, 16}, []int{info.SampleRateHz, info.Channels, info.BitDepth})
		planes := [][]float64{make([]float64, info.Frames), make([]float64, info.Frames)}
		_, err = r.ReadFloat64(planes)
		require.NoError(t, err)
		require.NoError(t, r.Close())
		for side, x := range planes {
			peak := 0.0
			for _, v := range x {
				peak = max(peak, math.Abs(v))
			}
			assert.Less(t, 20*math.Log10(peak), -38+7.8, "six sines of 1/sqrt(6) peak at most 7.8 dB over one")
			output := side
			if name == "03-04.wav" {
				output += 2
			}
			slot := p.Program().Slots[output]
			sum := 0.0
			first, last := int((slot.Tone.Start+0.1)*44100), int((slot.Tone.Start+1.1)*44100)
			for _, v := range x[first:last] {
				sum += v * v
			}
			assert.InDelta(t, -38, 10*math.Log10(2*sum/float64(last-first)), 0.01, "1 kHz at operating level, 20 dB down")
			for _, v := range x[int(slot.Silence.Start*44100):int(slot.Silence.End()*44100)] {
				require.Zero(t, v, "silence is digital zero")
			}
		}
	}
	text, err := os.ReadFile(filepath.Join(dir, CautionsFile))
	require.NoError(t, err)
	assert.True(t, strings.HasPrefix(string(text), "READ THIS BEFORE YOU PLAY THE TONES\r\n\r\n! Turn the monitors off"), "cautions come first")
	loaded, err := LoadPlan(dir)
	require.NoError(t, err)
	assert.Equal(t, p, loaded)
	err = p.Write(context.Background(), Options{Dir: dir, RateHz: 44100, Quick: true})
	require.ErrorContains(t, err, "--force", "an existing file is never replaced")
	err = p.Write(context.Background(), Options{Dir: t.TempDir(), RateHz: 44100, Quick: true, LevelDB: 15})
	require.ErrorContains(t, err, "--level must be 10.2 or less")
}

// Where two interfaces count their outputs each from 1, every file is listed with its interface, and unlike full scales are said
// (the rig is invented).
func TestTonesOfTwoInterfaces(t *testing.T) {
	p := &Plan{OperatingDBFS: -20, Sends: []Send{
		{Output: 7, InterfaceOutput: 7, Interface: "Desk", File: "07-08.wav", FullScaleDBu: 24}, {Output: 8, InterfaceOutput: 8, Interface: "Desk", File: "07-08.wav", FullScaleDBu: 24},
		{Output: 11, InterfaceOutput: 3, Interface: "Rack", File: "11-12.wav", FullScaleDBu: 18}, {Output: 12, InterfaceOutput: 4, Interface: "Rack", File: "11-12.wav", FullScaleDBu: 18},
	}}
	assert.Contains(t, p.HowTo()[0], "07-08.wav feeds Desk outputs 7/8, 11-12.wav feeds Rack outputs 3/4.")
	assert.Equal(t, "The levels in dBu are those of Desk; Rack puts out -6.0 dB against it.", p.Unlike())
	assert.Contains(t, p.readMe(), p.Unlike())
	p.Sends = p.Sends[:2]
	assert.Contains(t, p.HowTo()[0], "07-08.wav feeds outputs 7/8, and so on to 07-08.wav")
	assert.Empty(t, p.Unlike())
}

func TestTonesOfARig(t *testing.T) {
	r, err := rig.Load("../../../examples/rigs/24-outputs.toml")
	require.NoError(t, err)
	p, err := ForRig(r, nil)
	require.NoError(t, err)
	pairs, _, err := r.Pairs()
	require.NoError(t, err)
	require.Len(t, p.Sends, 2*len(pairs))
	seen := map[int]bool{}
	for i, s := range p.Sends {
		assert.False(t, seen[s.Output], "output %d is there once", s.Output)
		seen[s.Output] = true
		assert.Equal(t, pairs[i/2].SummingInputs[i%2], s.SummingInput)
		assert.Equal(t, []string{"left", "right"}[i%2], s.Side)
	}
	assert.Equal(t, r.Alignment.DBFS, p.OperatingDBFS)
	_, err = LoadPlan(t.TempDir())
	assert.ErrorContains(t, err, "foldout tones")
}
